/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps of an asked device (a device that talks by itself stays in TALKS):
 *
 *   QUIET   nothing came until until_ns           -> ask, TRIAL
 *           something came                        -> QUIET anew
 *   TRIAL   a line came (thrown away)             -> LISTEN
 *           nothing until until_ns                -> QUIET
 *   LISTEN  nothing came until until_ns           -> IDLE
 *           something came                        -> QUIET
 *   IDLE    its slot begins                       -> ask, AWAIT
 *           something came                        -> QUIET
 *   AWAIT   a line came: the reading              -> IDLE
 *           nothing until until_ns                -> QUIET
 */
#include "daemon/source_serial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/line_match.h"
#include "daemon/pace.h"
#include "daemon/serial_port.h"

static const int64_t SLICE_NS = 100000000;   /* longest wait in one call */
static const int64_t HELD_UP_NS = 250000000; /* not having read for this long is being held up */
static const int64_t LONGEST_QUIET_NS = 2000000000;

enum step { TALKS, QUIET, TRIAL, LISTEN, IDLE, AWAIT };

struct serial_source {
	struct rv_source base;
	const struct rv_device *device;
	struct rv_line_match *match;
	int port;
	enum step step;
	struct rv_pace pace;
	bool has_pace;
	int64_t timeout_ns, until_ns, asked_ns, longest_ns, settled_ns;
	int64_t read_ns;   /* the port was last read */
	int64_t looked_ns; /* this program last had the chance to read it */
	bool is_skipping;  /* until the next line end */
	char line[RV_SERIAL_LINE];
	size_t len;
	int64_t begun_ns; /* first byte of the line */
	int overlong;	  /* lines too long, not yet told */
	struct rv_value values[RV_CHANNELS];
};

static enum rv_err serial_open(struct rv_source *base, enum rv_fault *fault, struct rv_error *error)
{
	struct serial_source *source = (struct serial_source *)base;
	enum rv_err err = rv_serial_port_open(source->device, &source->port, fault, error);

	if (err != RV_OK)
		return err;
	err = rv_serial_port_set(source->port, source->device, error);
	if (err != RV_OK) {
		*fault = RV_FAULT_UNREACHABLE;
		rv_serial_port_close(source->port);
		source->port = -1;
		return err;
	}
	int64_t now_ns = rv_clock_mono_ns();
	source->settled_ns = now_ns + (int64_t)(source->device->settle_s * 1e9);
	source->read_ns = source->looked_ns = now_ns;
	source->len = 0;
	source->is_skipping = true;
	source->step = source->device->ask_len > 0 ? QUIET : TALKS;
	source->until_ns = source->settled_ns + source->timeout_ns;
	source->has_pace = source->step == QUIET && !isnan(source->device->every_s);
	if (source->has_pace)
		rv_pace_init(&source->pace, source->device->every_s, source->settled_ns);
	return RV_OK;
}

static void keep_quiet(struct serial_source *source)
{
	int64_t quiet_ns = source->longest_ns;

	if (quiet_ns > LONGEST_QUIET_NS)
		quiet_ns = LONGEST_QUIET_NS;
	if (quiet_ns < source->timeout_ns)
		quiet_ns = source->timeout_ns;
	source->step = QUIET;
	source->until_ns = rv_clock_mono_ns() + quiet_ns;
}

static void note_answer(struct serial_source *source)
{
	int64_t took_ns = rv_clock_mono_ns() - source->asked_ns;

	if (source->asked_ns > 0 && took_ns > source->longest_ns)
		source->longest_ns = took_ns;
}

static void deliver(struct serial_source *source)
{
	int count;

	if (rv_line_match_read(source->match, source->line, source->len, source->begun_ns,
			       source->values, &count) != RV_OK) {
		rv_source_lost(&source->base, RV_FAULT_GARBLED, 1,
			       "a line that the pattern does not match");
		return;
	}
	rv_source_deliver(&source->base, source->begun_ns, source->values, count);
}

/* Something other than line ends came. */
static void meet_bytes(struct serial_source *source)
{
	if (source->step == IDLE)
		rv_source_lost(&source->base, RV_FAULT_GARBLED, 0, "a line nobody asked for");
	if (source->step == IDLE || source->step == LISTEN || source->step == QUIET) {
		note_answer(source);
		keep_quiet(source);
	}
}

static void end_line(struct serial_source *source)
{
	if (source->is_skipping) {
		source->is_skipping = false;
	} else if (source->len > 0 && (source->step == TALKS || source->step == AWAIT)) {
		deliver(source);
		if (source->step == AWAIT) {
			note_answer(source);
			source->step = IDLE;
		}
	} else if (source->len > 0 && source->step == TRIAL) {
		note_answer(source);
		keep_quiet(source);
		source->step = LISTEN;
	}
	source->len = 0;
}

static void take_byte(struct serial_source *source, char byte, int64_t came_ns)
{
	if (byte == '\r' || byte == '\n') {
		end_line(source);
		return;
	}
	meet_bytes(source);
	if (source->is_skipping)
		return;
	if (source->len == 0)
		source->begun_ns = came_ns;
	if (source->len == sizeof source->line) {
		source->overlong++;
		source->is_skipping = true;
		source->len = 0;
		return;
	}
	source->line[source->len++] = byte;
}

/* Nobody knows when what waits in the port came: throw it away, counting its lines. */
static void drop_backlog(struct serial_source *source)
{
	char bytes[1024];
	size_t got;
	int ends = 0;

	for (int i = 0; i < 64; i++) {
		if (rv_serial_port_read(source->port, bytes, sizeof bytes, 0, &got) != RV_OK)
			break;
		for (size_t k = 0; k < got; k++)
			ends += bytes[k] == '\n' ||
				(bytes[k] == '\r' && k + 1 < got && bytes[k + 1] != '\n');
	}
	rv_serial_port_flush(source->port);
	source->is_skipping = true;
	source->len = 0;
	source->looked_ns = source->read_ns = rv_clock_mono_ns();
	if (source->step != TALKS)
		keep_quiet(source);
	if (ends > 0)
		rv_source_lost(&source->base, RV_FAULT_OVERFLOW, ends, "this machine was held up");
}

/* Reads what is there, waiting until deadline_ns for the first byte. */
static enum rv_err pump(struct serial_source *source, int64_t deadline_ns)
{
	char bytes[4096];
	size_t got;
	int64_t before_ns = source->read_ns;
	enum rv_err err = rv_serial_port_read(source->port, bytes, sizeof bytes, deadline_ns, &got);
	int64_t now_ns = rv_clock_mono_ns();
	bool is_late = now_ns > deadline_ns + HELD_UP_NS;

	source->looked_ns = now_ns;
	if (err != RV_OK)
		return err;
	if (is_late) {
		drop_backlog(source);
		return RV_ERR_AGAIN;
	}
	source->read_ns = now_ns;
	if (source->len > 0 && now_ns - before_ns > source->timeout_ns) {
		rv_source_lost(&source->base, RV_FAULT_GARBLED, 1, "a line with a pause in it");
		source->is_skipping = true;
		source->len = 0;
	}
	for (size_t i = 0; i < got; i++) {
		int64_t came_ns = now_ns - rv_serial_port_span_ns(source->device, (int)(got - i));
		take_byte(source, bytes[i], came_ns > before_ns ? came_ns : before_ns);
	}
	if (source->overlong > 0)
		rv_source_lost(&source->base, RV_FAULT_TOO_LONG, source->overlong,
			       "a line without end");
	source->overlong = 0;
	return RV_OK;
}

static enum rv_err ask(struct serial_source *source, enum step then)
{
	int64_t now_ns = rv_clock_mono_ns();
	enum rv_err err =
	    rv_serial_port_write(source->port, source->device->ask, (size_t)source->device->ask_len,
				 now_ns + source->timeout_ns);

	/* Whatever was left of a line belongs to an older answer. */
	source->len = 0;
	source->is_skipping = false;
	source->asked_ns = now_ns;
	source->until_ns = now_ns + source->timeout_ns;
	source->step = then;
	return err;
}

/* What to do when nothing came until until_ns. */
static enum rv_err time_out(struct serial_source *source)
{
	if (source->step == QUIET)
		return ask(source, TRIAL);
	if (source->step == LISTEN) {
		source->step = IDLE;
		return RV_OK;
	}
	bool is_counted = source->step == AWAIT || !source->has_pace;
	keep_quiet(source);
	if (is_counted)
		rv_source_lost(&source->base, RV_FAULT_TIMEOUT, 1, "asked, no answer in time");
	return RV_ERR_AGAIN;
}

/* Slots that pass while the line is being brought into step are lost. */
static void count_passed(struct serial_source *source)
{
	if (!source->has_pace || source->step == IDLE || source->step == AWAIT)
		return;
	int passed = rv_pace_take(&source->pace, rv_clock_mono_ns());
	if (passed >= 0)
		rv_source_lost(&source->base, RV_FAULT_LATE, passed + 1, "");
}

static enum rv_err next_asked(struct serial_source *source, int64_t now_ns)
{
	if (source->step == IDLE) {
		int64_t due_ns = source->has_pace ? source->pace.due_ns : now_ns;
		if (now_ns >= due_ns) {
			if (source->has_pace)
				(void)rv_pace_take(&source->pace, now_ns);
			return ask(source, AWAIT);
		}
		source->until_ns = due_ns;
	}
	int64_t end_ns =
	    now_ns + SLICE_NS < source->until_ns ? now_ns + SLICE_NS : source->until_ns;
	enum rv_err err = pump(source, end_ns);
	if (err == RV_ERR_AGAIN && source->step != IDLE && rv_clock_mono_ns() >= source->until_ns)
		err = time_out(source);
	count_passed(source);
	return err;
}

static enum rv_err serial_next(struct rv_source *base, struct rv_error *error)
{
	struct serial_source *source = (struct serial_source *)base;
	int64_t now_ns = rv_clock_mono_ns();
	enum rv_err err;

	if (now_ns < source->settled_ns) {
		/* Boot text of the instrument is no reading. */
		int64_t end_ns = now_ns + SLICE_NS;
		rv_clock_sleep_until(end_ns < source->settled_ns ? end_ns : source->settled_ns);
		rv_serial_port_flush(source->port);
		source->looked_ns = source->read_ns = rv_clock_mono_ns();
		err = rv_serial_port_waiting(source->port) < 0 ? RV_ERR_CLOSED : RV_ERR_AGAIN;
	} else if (now_ns - source->looked_ns > HELD_UP_NS) {
		drop_backlog(source);
		err = RV_ERR_AGAIN;
	} else if (source->step == TALKS) {
		err = pump(source, now_ns + SLICE_NS);
	} else {
		err = next_asked(source, now_ns);
	}
	if (err == RV_ERR_CLOSED)
		return rv_err_set(error, err, "the port is gone: is the adapter plugged in?");
	return err;
}

static void serial_close(struct rv_source *base)
{
	struct serial_source *source = (struct serial_source *)base;

	rv_serial_port_close(source->port);
	source->port = -1;
}

static void serial_free(struct rv_source *base)
{
	struct serial_source *source = (struct serial_source *)base;

	serial_close(base);
	rv_line_match_free(source->match);
	free(source);
}

enum rv_err rv_source_serial_new(const struct rv_source *base, struct rv_source **source,
				 struct rv_error *error)
{
	static const struct rv_source_type type = {serial_open, serial_next, serial_close,
						   serial_free};
	struct serial_source *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	made->base = *base;
	made->base.type = &type;
	made->port = -1;
	made->device = &base->station->device[base->device];
	made->timeout_ns = (int64_t)(made->device->timeout_s * 1e9);
	enum rv_err err = rv_line_match_new(base->station, base->device, &made->match, error);
	if (err != RV_OK) {
		serial_free(&made->base);
		return err;
	}
	*source = &made->base;
	return RV_OK;
}
