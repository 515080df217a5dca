/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/reader.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/source.h"

static const int64_t FIRST_BACK_OFF_NS = 250000000;
static const int64_t LONGEST_BACK_OFF_NS = 2000000000;
static const int64_t NAP_NS = 50000000;
static const int64_t SILENT_NS =
    1000000000; /* without a message for this long: as good as closed */

/* What the ring was last told of the device. */
enum told { TOLD_NOTHING, TOLD_OPENED, TOLD_CLOSED };

struct rv_reader {
	pthread_t thread;
	atomic_bool stopping;
	struct rv_source *source;
	struct rv_ring *ring;
	int device;
	enum told told;
	enum rv_fault told_fault;
	int64_t heard_ns; /* the last message, or the opening */
	int64_t silent_ns;
	int overflow;	    /* messages the ring had no room for, not yet told */
	int64_t dropped_ns; /* the newest of them: its parts count once */
	bool has_state;	    /* a change of state the ring had no room for */
	struct rv_intake state;
};

/* The ring's room is used in this order: what was lost, where the device stands, what comes now. */
static bool put_waiting(struct rv_reader *reader)
{
	if (reader->overflow > 0) {
		struct rv_intake lost = {
		    .kind = RV_INTAKE_LOST,
		    .device = reader->device,
		    .mono_ns = rv_clock_mono_ns(),
		    .fault = RV_FAULT_OVERFLOW,
		    .missed = reader->overflow,
		    .text = "the engine was too slow",
		};
		if (rv_ring_put(reader->ring, &lost) != RV_OK)
			return false;
		reader->overflow = 0;
	}
	if (reader->has_state && rv_ring_put(reader->ring, &reader->state) != RV_OK)
		return false;
	reader->has_state = false;
	return true;
}

static void put(struct rv_reader *reader, const struct rv_intake *intake)
{
	if (put_waiting(reader) && rv_ring_put(reader->ring, intake) == RV_OK)
		return;
	if (intake->kind == RV_INTAKE_OPENED || intake->kind == RV_INTAKE_CLOSED) {
		reader->state = *intake;
		reader->has_state = true;
	} else if (intake->kind == RV_INTAKE_LOST) {
		reader->overflow += intake->missed;
	} else if (intake->mono_ns != reader->dropped_ns) {
		reader->dropped_ns = intake->mono_ns;
		reader->overflow++;
	}
}

static void tell_opened(struct rv_reader *reader, int64_t mono_ns)
{
	struct rv_intake intake = {
	    .kind = RV_INTAKE_OPENED, .device = reader->device, .mono_ns = mono_ns};

	reader->told = TOLD_OPENED;
	put(reader, &intake);
}

/* Once for each reason. */
static void tell_closed(struct rv_reader *reader, enum rv_fault fault, const char *text)
{
	struct rv_intake intake = {
	    .kind = RV_INTAKE_CLOSED,
	    .device = reader->device,
	    .mono_ns = rv_clock_mono_ns(),
	    .fault = fault,
	};

	if (reader->told == TOLD_CLOSED && reader->told_fault == fault)
		return;
	reader->told = TOLD_CLOSED;
	reader->told_fault = fault;
	snprintf(intake.text, sizeof intake.text, "%s", text);
	put(reader, &intake);
}

static bool is_silent(const struct rv_reader *reader)
{
	return reader->told != TOLD_CLOSED &&
	       rv_clock_mono_ns() - reader->heard_ns > reader->silent_ns;
}

static void take(void *to, const struct rv_intake *intake)
{
	struct rv_reader *reader = to;

	if (intake->kind == RV_INTAKE_MESSAGE) {
		if (reader->told != TOLD_OPENED)
			tell_opened(reader, intake->mono_ns);
		reader->heard_ns = rv_clock_mono_ns();
	}
	put(reader, intake);
	if (intake->kind == RV_INTAKE_LOST && intake->fault != RV_FAULT_LATE && is_silent(reader))
		tell_closed(reader, intake->fault, intake->text);
}

static void nap_until(const struct rv_reader *reader, int64_t until_ns)
{
	int64_t now_ns = rv_clock_mono_ns();

	while (!atomic_load(&reader->stopping) && now_ns < until_ns) {
		rv_clock_sleep_until(now_ns + NAP_NS < until_ns ? now_ns + NAP_NS : until_ns);
		now_ns = rv_clock_mono_ns();
	}
}

/* Reads until the wire is gone or the reader is stopped.  True if anything was heard. */
static bool read_on(struct rv_reader *reader)
{
	struct rv_source *source = reader->source;
	int64_t opened_ns = rv_clock_mono_ns();
	struct rv_error error = {0};
	enum rv_err err = RV_OK;

	reader->heard_ns = opened_ns;
	while (!atomic_load(&reader->stopping) && err != RV_ERR_CLOSED) {
		err = source->type->next(source, &error);
		if (err == RV_ERR_AGAIN && is_silent(reader))
			tell_closed(reader, RV_FAULT_TIMEOUT, "nothing is heard from it");
		(void)put_waiting(reader);
	}
	if (err == RV_ERR_CLOSED)
		tell_closed(reader, RV_FAULT_UNPLUGGED, error.text);
	source->type->close(source);
	return reader->heard_ns > opened_ns;
}

static void *run(void *data)
{
	struct rv_reader *reader = data;
	int64_t back_off_ns = FIRST_BACK_OFF_NS;

	while (!atomic_load(&reader->stopping)) {
		enum rv_fault fault = RV_FAULT_UNREACHABLE;
		struct rv_error error = {0};
		if (reader->source->type->open(reader->source, &fault, &error) != RV_OK)
			tell_closed(reader, fault, error.text);
		else if (read_on(reader))
			back_off_ns = FIRST_BACK_OFF_NS;
		(void)put_waiting(reader);
		nap_until(reader, rv_clock_mono_ns() + back_off_ns);
		back_off_ns =
		    2 * back_off_ns < LONGEST_BACK_OFF_NS ? 2 * back_off_ns : LONGEST_BACK_OFF_NS;
	}
	return NULL;
}

enum rv_err rv_reader_start(const struct rv_station *station, int device, struct rv_ring *ring,
			    struct rv_reader **reader, struct rv_error *error)
{
	struct rv_reader *made = calloc(1, sizeof *made);
	double every_s = station->device[device].every_s;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	made->ring = ring;
	made->device = device;
	made->silent_ns = SILENT_NS;
	if (!isnan(every_s) && 5.0 * every_s * 1e9 > (double)SILENT_NS)
		made->silent_ns = (int64_t)(5.0 * every_s * 1e9);
	enum rv_err err = rv_source_new(station, device, take, made, &made->source, error);
	if (err != RV_OK) {
		free(made);
		return err;
	}
	int why = pthread_create(&made->thread, NULL, run, made);
	if (why != 0) {
		made->source->type->free(made->source);
		free(made);
		err = rv_err_set(error, RV_ERR_SYSTEM, "no thread for device %s",
				 station->device[device].name);
		if (error)
			error->sys_errno = why;
		return err;
	}
	*reader = made;
	return RV_OK;
}

void rv_reader_stop(struct rv_reader *reader)
{
	if (!reader)
		return;
	atomic_store(&reader->stopping, true);
	pthread_join(reader->thread, NULL);
	reader->source->type->free(reader->source);
	free(reader);
}
