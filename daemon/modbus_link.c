/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/modbus_link.h"

#include <stdio.h>
#include <stdlib.h>

#include "daemon/clock.h"
#include "daemon/modbus_probe.h"
#include "daemon/serial_port.h"

static const int64_t USB_LATENCY_NS = 16000000; /* FTDI's default latency timer */
static const int64_t LONGEST_QUIET_NS = 2000000000;

/* Where the link stands; everything but IN_STEP delivers nothing. */
enum step {
	IN_STEP,
	QUIET,	   /* until quiet_ns, throwing away what comes */
	PROBE,	   /* the next thing to do is to ask a probe */
	LISTENING, /* the answer to a thrown-away ordinary question came: no other may follow */
};

struct rv_modbus_link {
	struct rv_modbus_wire *wire;
	bool is_rtu;
	enum step step;
	int64_t timeout_ns, silence_ns;
	int64_t asked_ns;   /* the last question */
	int64_t longest_ns; /* longest answer time seen, late ones too */
	int64_t quiet_ns;   /* end of keeping quiet */
	struct rv_modbus_probes probes;
};

enum rv_err rv_modbus_link_new(const struct rv_device *device, struct rv_modbus_link **link,
			       struct rv_error *error)
{
	struct rv_modbus_link *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "%s: no memory", device->name);
	enum rv_err err = rv_modbus_wire_new(device, &made->wire, error);
	if (err != RV_OK) {
		free(made);
		return err;
	}
	made->is_rtu = device->link == RV_LINK_MODBUS_RTU;
	made->timeout_ns = (int64_t)(device->timeout_s * 1e9);
	/* 3.5 characters, rounded up. */
	if (made->is_rtu)
		made->silence_ns = rv_serial_port_span_ns(device, 4) + USB_LATENCY_NS;
	*link = made;
	return RV_OK;
}

void rv_modbus_link_free(struct rv_modbus_link *link)
{
	if (!link)
		return;
	rv_modbus_wire_free(link->wire);
	free(link);
}

void rv_modbus_link_expect(struct rv_modbus_link *link, const struct rv_regs_plan *plan)
{
	rv_modbus_probe_choose(&link->probes, plan);
}

enum rv_err rv_modbus_link_open(struct rv_modbus_link *link, enum rv_fault *fault,
				struct rv_error *error)
{
	/* An earlier program may have left a question unanswered. */
	link->step = PROBE;
	return rv_modbus_wire_open(link->wire, fault, error);
}

void rv_modbus_link_close(struct rv_modbus_link *link)
{
	rv_modbus_wire_close(link->wire);
}

bool rv_modbus_link_is_in_step(const struct rv_modbus_link *link)
{
	return link->step == IN_STEP;
}

static void fall_out_of_step(struct rv_modbus_link *link)
{
	int64_t quiet_ns = link->longest_ns;

	if (quiet_ns > LONGEST_QUIET_NS)
		quiet_ns = LONGEST_QUIET_NS;
	if (quiet_ns < link->timeout_ns)
		quiet_ns = link->timeout_ns;
	link->step = QUIET;
	link->quiet_ns = rv_clock_mono_ns() + quiet_ns + link->silence_ns;
	if (!link->is_rtu)
		rv_modbus_wire_close(link->wire);
}

static void note_answer_time(struct rv_modbus_link *link, int64_t now_ns)
{
	if (now_ns - link->asked_ns > link->longest_ns)
		link->longest_ns = now_ns - link->asked_ns;
}

static enum rv_err be_gone(struct rv_modbus_link *link, struct rv_modbus_trouble *trouble)
{
	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_UNPLUGGED};
	snprintf(trouble->text, sizeof trouble->text, "%s",
		 link->is_rtu ? "the port is gone: is the adapter plugged in?"
			      : "the instrument closed the connection");
	link->step = PROBE;
	rv_modbus_wire_close(link->wire);
	return RV_ERR_CLOSED;
}

/* RV_OK: nothing waits on the wire that nobody asked for. */
static enum rv_err check_empty(struct rv_modbus_link *link, struct rv_modbus_trouble *trouble)
{
	int waiting = rv_modbus_wire_waiting(link->wire);

	if (waiting < 0)
		return be_gone(link, trouble);
	if (waiting == 0)
		return RV_OK;
	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_GARBLED};
	snprintf(trouble->text, sizeof trouble->text, "bytes came that nobody asked for");
	fall_out_of_step(link);
	return RV_ERR_AGAIN;
}

/* What an exchange that failed means for the step. */
static void draw_conclusion(struct rv_modbus_link *link, enum rv_err err,
			    const struct rv_modbus_trouble *trouble)
{
	if (err == RV_ERR_CLOSED) {
		link->step = PROBE;
		rv_modbus_wire_close(link->wire);
	} else if (err == RV_ERR_AGAIN &&
		   (trouble->fault != RV_FAULT_EXCEPTION || trouble->is_gateway)) {
		/* A gateway that gave up on its unit may meet that unit's answer yet. */
		fall_out_of_step(link);
	}
}

static enum rv_err exchange(struct rv_modbus_link *link, const struct rv_regs_request *request,
			    struct rv_modbus_answer *answer, struct rv_modbus_trouble *trouble)
{
	enum rv_err err = check_empty(link, trouble);

	if (err != RV_OK)
		return err;
	link->asked_ns = rv_clock_mono_ns();
	err = rv_modbus_wire_read(link->wire, request, answer, trouble);
	if (err == RV_OK)
		note_answer_time(link, rv_clock_mono_ns());
	draw_conclusion(link, err, trouble);
	return err;
}

static enum rv_err refuse_out_of_step(struct rv_modbus_trouble *trouble)
{
	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_LATE};
	return RV_ERR_AGAIN;
}

enum rv_err rv_modbus_link_ask(struct rv_modbus_link *link, const struct rv_regs_request *request,
			       struct rv_modbus_answer *answer, struct rv_modbus_trouble *trouble)
{
	if (link->step != IN_STEP)
		return refuse_out_of_step(trouble);
	return exchange(link, request, answer, trouble);
}

/* Throws away what comes until until_ns or, if that is sooner, until all has been quiet long
 * enough. RV_OK: nothing came.  RV_ERR_AGAIN: something did. */
static enum rv_err drain(struct rv_modbus_link *link, int64_t until_ns)
{
	enum rv_err seen = RV_OK;
	int64_t now_ns = rv_clock_mono_ns();

	while (now_ns < until_ns && now_ns < link->quiet_ns) {
		int64_t end_ns = until_ns < link->quiet_ns ? until_ns : link->quiet_ns;
		if (!link->is_rtu) {
			rv_clock_sleep_until(end_ns);
			return RV_OK;
		}
		enum rv_err err = rv_modbus_wire_discard(link->wire, end_ns);
		if (err == RV_ERR_CLOSED)
			return err;
		now_ns = rv_clock_mono_ns();
		if (err != RV_OK)
			continue;
		/* The late answer: when it is all in, there is nothing more to wait for. */
		seen = RV_ERR_AGAIN;
		note_answer_time(link, now_ns);
		link->quiet_ns = now_ns + link->silence_ns;
	}
	return seen;
}

static enum rv_err keep_quiet(struct rv_modbus_link *link, int64_t slice_ns,
			      struct rv_modbus_trouble *trouble)
{
	enum rv_err err = drain(link, rv_clock_mono_ns() + slice_ns);

	if (err == RV_ERR_CLOSED)
		return be_gone(link, trouble);
	if (link->step == LISTENING && err == RV_ERR_AGAIN)
		link->step = QUIET;
	if (rv_clock_mono_ns() < link->quiet_ns)
		return RV_ERR_AGAIN;
	if (link->step == LISTENING) {
		link->step = IN_STEP;
		return RV_OK;
	}
	link->step = PROBE;
	return RV_ERR_AGAIN;
}

/* Whether what a probe brought proves that no older answer is still to come.  TCP: the transaction
 * number on a new connection does, whatever the answer. */
static bool is_proof(const struct rv_modbus_link *link, const struct rv_modbus_probe *probe,
		     bool is_exception)
{
	if (!link->is_rtu)
		return true;
	return !probe->is_plain && (!is_exception || probe->is_own_function);
}

static enum rv_err connect_again(struct rv_modbus_link *link, struct rv_modbus_trouble *trouble)
{
	struct rv_error error;
	enum rv_fault fault;

	if (rv_modbus_wire_is_open(link->wire) ||
	    rv_modbus_wire_open(link->wire, &fault, &error) == RV_OK)
		return RV_OK;
	*trouble = (struct rv_modbus_trouble){.fault = fault};
	snprintf(trouble->text, sizeof trouble->text, "%.119s", error.text);
	return RV_ERR_CLOSED;
}

static enum rv_err ask_probe(struct rv_modbus_link *link, struct rv_modbus_trouble *trouble)
{
	struct rv_modbus_answer answer;
	enum rv_err err = connect_again(link, trouble);

	if (err != RV_OK)
		return err;
	struct rv_modbus_probe *probe = rv_modbus_probe_next(&link->probes);
	if (!probe) {
		link->step = IN_STEP;
		return RV_OK;
	}
	err = exchange(link, &probe->request, &answer, trouble);
	/* No longer PROBE: the exchange made the link fall out of step anew. */
	if (link->step != PROBE || err == RV_ERR_CLOSED)
		return err;
	bool is_exception = err != RV_OK;
	if (is_proof(link, probe, is_exception)) {
		link->step = IN_STEP;
		return RV_OK;
	}
	fall_out_of_step(link);
	if (!is_exception)
		link->step = LISTENING;
	else if (!probe->is_plain)
		probe->is_refused = true;
	return RV_ERR_AGAIN;
}

enum rv_err rv_modbus_link_recover(struct rv_modbus_link *link, int64_t slice_ns,
				   struct rv_modbus_trouble *trouble)
{
	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_NONE};
	if (link->step == IN_STEP)
		return RV_OK;
	return link->step == PROBE ? ask_probe(link, trouble) : keep_quiet(link, slice_ns, trouble);
}

enum rv_err rv_modbus_link_write_coil(struct rv_modbus_link *link, int coil, bool energised,
				      struct rv_modbus_trouble *trouble)
{
	struct rv_regs_request request = {RV_REGISTER_COIL, coil, 1};
	struct rv_modbus_answer answer;

	if (link->step != IN_STEP)
		return refuse_out_of_step(trouble);
	enum rv_err err = check_empty(link, trouble);
	if (err != RV_OK)
		return err;
	err = rv_modbus_wire_write_coil(link->wire, coil, energised, trouble);
	draw_conclusion(link, err, trouble);
	if (err == RV_OK)
		err = exchange(link, &request, &answer, trouble);
	if (err != RV_OK || (answer.bits[0] != 0) == energised)
		return err;
	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_GARBLED};
	snprintf(trouble->text, sizeof trouble->text, "coil %d reads back otherwise", coil);
	return RV_ERR_REFUSED;
}
