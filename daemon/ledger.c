/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/ledger.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"

static enum rv_err add_device_event(struct rv_ledger *ledger, const struct rv_entry *entry,
				    struct rv_error *error)
{
	const struct rv_store_event event = {
	    .t_us = entry->t_us,
	    .until_us = entry->device.until_us,
	    .device = entry->device.device,
	    .what = entry->device.what,
	    .cause = entry->device.fault == RV_FAULT_NONE
			 ? ""
			 : rv_intake_fault_name(entry->device.fault),
	    .text = entry->device.text,
	    .count = entry->device.count,
	};

	return rv_store_add_event(ledger->store, &event, error);
}

static enum rv_err add_alarm(struct rv_ledger *ledger, const struct rv_entry *entry,
			     struct rv_error *error)
{
	struct rv_store_alarm alarm = {.t_us = entry->t_us, .value = entry->alarm.value};

	snprintf(alarm.name, sizeof alarm.name, "%s", entry->alarm.name);
	snprintf(alarm.level, sizeof alarm.level, "%s", rv_station_level_name(entry->alarm.level));
	snprintf(alarm.state, sizeof alarm.state, "%s", rv_alarm_state_name(entry->alarm.state));
	snprintf(alarm.unit, sizeof alarm.unit, "%s", entry->alarm.unit);
	snprintf(alarm.text, sizeof alarm.text, "%s", entry->alarm.text);
	snprintf(alarm.by_whom, sizeof alarm.by_whom, "%s", entry->alarm.by_whom);
	return rv_store_add_alarm(ledger->store, &alarm, error);
}

static enum rv_err add_mark(struct rv_ledger *ledger, const struct rv_entry *entry,
			    struct rv_error *error)
{
	struct rv_store_mark mark = {.t_us = entry->t_us, .travel_m = entry->mark.travel_m};

	snprintf(mark.text, sizeof mark.text, "%s", entry->mark.text);
	snprintf(mark.by_whom, sizeof mark.by_whom, "%s", entry->mark.by_whom);
	return rv_store_add_mark(ledger->store, &mark, error);
}

static enum rv_err open_run(struct rv_ledger *ledger, const struct rv_entry *entry,
			    struct rv_error *error)
{
	const struct rv_store_opening opening = {
	    .number = entry->run_open.number,
	    .t_us = entry->t_us,
	    .name = entry->run_open.name,
	    .how = entry->run_open.how,
	    .rig_name = entry->run_open.rig_text ? entry->run_open.rig_name : NULL,
	    .rig_text = entry->run_open.rig_text,
	};

	return rv_store_open_run(ledger->store, &opening, error);
}

static enum rv_err add_entry_anchor(struct rv_ledger *ledger, const struct rv_entry *entry,
				    struct rv_error *error)
{
	const struct rv_store_anchor anchor = {
	    .boot = rv_clock_boot(),
	    .why = entry->anchor.why,
	    .mono_ns = entry->anchor.mono_ns,
	    .t_us = entry->t_us,
	    .utc_us = entry->anchor.utc_us,
	    .trusted = entry->anchor.trusted,
	};

	return rv_store_add_anchor(ledger->store, &anchor, error);
}

enum rv_err rv_ledger_add(struct rv_ledger *ledger, const struct rv_entry *entry, int64_t *readings,
			  struct rv_error *error)
{
	struct rv_store *store = ledger->store;

	switch (entry->kind) {
	case RV_ENTRY_MESSAGE:
		return rv_store_add_message(store, &entry->message, entry->t_us, readings, error);
	case RV_ENTRY_DEVICE:
		return add_device_event(ledger, entry, error);
	case RV_ENTRY_QUALITY:
		return rv_store_set_quality(store, entry->quality.channel, entry->t_us,
					    entry->quality.quality, entry->quality.cause, error);
	case RV_ENTRY_ALARM:
		return add_alarm(ledger, entry, error);
	case RV_ENTRY_CONVERSION:
		return rv_store_set_conversion(
		    store, entry->conversion.channel, entry->t_us,
		    &(struct rv_store_in_force){entry->conversion.conversion,
						entry->conversion.zero},
		    error);
	case RV_ENTRY_RUN_OPEN:
		return open_run(ledger, entry, error);
	case RV_ENTRY_RUN_CLOSE:
		return rv_store_close_run(store, entry->run_close.number, entry->t_us,
					  entry->run_close.why, error);
	case RV_ENTRY_MARK:
		return add_mark(ledger, entry, error);
	case RV_ENTRY_STRIKE:
		return rv_store_add_strike(store, &entry->strike, error);
	case RV_ENTRY_ANCHOR:
		return add_entry_anchor(ledger, entry, error);
	case RV_ENTRY_RIG:
		return rv_store_set_rig(store, entry->t_us, entry->rig.name, entry->rig.text,
					entry->rig.by_page, error);
	}
	return rv_err_refuse(error, "constraint", "an entry of no known kind");
}

static void note_run(struct rv_ledger *ledger, struct rv_entry *entry)
{
	free(ledger->run.rig_text);
	ledger->run.number = entry->run_open.number;
	ledger->run.rig_text = entry->run_open.rig_text;
	entry->run_open.rig_text = NULL;
	snprintf(ledger->run.name, sizeof ledger->run.name, "%s", entry->run_open.name);
	snprintf(ledger->run.how, sizeof ledger->run.how, "%s", entry->run_open.how);
	snprintf(ledger->run.rig_name, sizeof ledger->run.rig_name, "%s", entry->run_open.rig_name);
}

void rv_ledger_note(struct rv_ledger *ledger, struct rv_entry *entry)
{
	if (entry->kind == RV_ENTRY_QUALITY) {
		ledger->quality[entry->quality.channel] = entry->quality.quality;
		ledger->cause[entry->quality.channel] = entry->quality.cause;
	} else if (entry->kind == RV_ENTRY_CONVERSION) {
		ledger->in_force[entry->conversion.channel] = (struct rv_store_in_force){
		    entry->conversion.conversion, entry->conversion.zero};
	} else if (entry->kind == RV_ENTRY_RUN_OPEN) {
		note_run(ledger, entry);
	} else if (entry->kind == RV_ENTRY_RUN_CLOSE) {
		ledger->run.number = 0;
	} else if (entry->kind == RV_ENTRY_RIG) {
		free(ledger->rig.text);
		ledger->rig.text = entry->rig.text;
		entry->rig.text = NULL;
		snprintf(ledger->rig.name, sizeof ledger->rig.name, "%s", entry->rig.name);
		ledger->rig.by_page = entry->rig.by_page;
		ledger->rig.known = true;
	}
}

void rv_ledger_let_go(struct rv_entry *entry, enum rv_err result)
{
	if (entry->kind == RV_ENTRY_RUN_OPEN)
		free(entry->run_open.rig_text);
	else if (entry->kind == RV_ENTRY_RIG)
		free(entry->rig.text);
	rv_ticket_complete(entry->ticket, result);
	entry->ticket = NULL;
}

enum rv_err rv_ledger_event(struct rv_ledger *ledger, int64_t t_us, const char *what,
			    const char *text, struct rv_error *error)
{
	return rv_store_add_event(ledger->store,
				  &(struct rv_store_event){.t_us = t_us,
							   .until_us = t_us,
							   .device = -1,
							   .what = what,
							   .cause = "",
							   .text = text},
				  error);
}

enum rv_err rv_ledger_anchor(struct rv_ledger *ledger, int64_t mono_ns, const char *why,
			     struct rv_error *error)
{
	const struct rv_store_anchor anchor = {
	    .boot = rv_clock_boot(),
	    .why = why,
	    .mono_ns = mono_ns,
	    .t_us = rv_clock_row_us(mono_ns),
	    .utc_us = rv_clock_mono_to_utc_us(mono_ns),
	    .trusted = rv_clock_is_trusted(),
	};

	return rv_store_add_anchor(ledger->store, &anchor, error);
}

/* ---- opening it, and opening it again ------------------------------------------------------ */

static enum rv_err end_run(struct rv_ledger *ledger, int64_t number, int64_t t_us,
			   struct rv_error *error)
{
	enum rv_err err = rv_store_begin(ledger->store, error);

	if (err != RV_OK)
		return err;
	err = rv_store_close_run(ledger->store, number, t_us, "other channels", error);
	if (err == RV_OK)
		err = rv_store_commit(ledger->store, error);
	if (err != RV_OK)
		rv_store_rollback(ledger->store);
	return err;
}

enum rv_err rv_ledger_take_up_run(struct rv_ledger *ledger, const struct rv_store_match *match,
				  struct rv_recorder_start *found, struct rv_error *error)
{
	struct rv_store_run run;
	struct rv_text rig = {0};
	enum rv_err err = rv_store_get_run(ledger->store, found->open_run, &run, error);

	if (err == RV_OK && !match->fits) {
		found->ended_run = run.number;
		found->open_run = 0;
		snprintf(found->ended_why, sizeof found->ended_why, "%s", match->why);
		return end_run(ledger, run.number, found->newest_us + 1, error);
	}
	if (err == RV_OK)
		err = rv_store_run_texts(ledger->store, run.number, &rig, NULL, error);
	if (err != RV_OK)
		return err;
	ledger->run.number = run.number;
	snprintf(ledger->run.name, sizeof ledger->run.name, "%s", run.name);
	snprintf(ledger->run.how, sizeof ledger->run.how, "%s", run.how);
	snprintf(ledger->run.rig_name, sizeof ledger->run.rig_name, "%s", run.rig);
	ledger->run.rig_text = rig.data ? strdup(rig.data) : NULL;
	found->open_run_rig = rig.data;
	found->open_run_from_us = run.from_us;
	snprintf(found->open_run_name, sizeof found->open_run_name, "%s", run.name);
	snprintf(found->open_run_how, sizeof found->open_run_how, "%s", run.how);
	return RV_OK;
}

/* A run the record holds open that is not ours ends at the record's last reading. */
static enum rv_err end_stranger(struct rv_ledger *ledger, const struct rv_store_found *found,
				bool fits, struct rv_error *error)
{
	if (!found->open_run || (found->open_run == ledger->run.number && fits))
		return RV_OK;
	return rv_store_close_run(ledger->store, found->open_run, found->newest_us + 1,
				  "the record was replaced", error);
}

/* Our open run goes on in a record that does not know it. */
static enum rv_err carry_on_run(struct rv_ledger *ledger, int64_t t_us, struct rv_error *error)
{
	const struct rv_store_opening opening = {
	    .number = ledger->run.number,
	    .t_us = t_us,
	    .name = ledger->run.name,
	    .how = ledger->run.how,
	    .rig_name = ledger->run.rig_text ? ledger->run.rig_name : NULL,
	    .rig_text = ledger->run.rig_text,
	};
	enum rv_err err = rv_store_open_run(ledger->store, &opening, error);

	if (err != RV_ERR_REFUSED)
		return err;
	/* That record has used the number or the name: readings are kept outside a run. */
	ledger->run.number = 0;
	return rv_ledger_event(ledger, t_us, "run lost", ledger->run.name, error);
}

static bool same_conversion(const struct rv_store_in_force *a, const struct rv_store_in_force *b)
{
	for (int i = 0; i < 4; i++) {
		double x = i <= a->conversion.degree ? a->conversion.a[i] : 0.0;
		double y = i <= b->conversion.degree ? b->conversion.a[i] : 0.0;
		if (!rv_sample_is_same(x, y))
			return false;
	}
	return rv_sample_is_same(a->zero, b->zero);
}

static enum rv_err restore(struct rv_ledger *ledger, const struct rv_store_match *match,
			   const struct rv_store_found *found, int64_t t_us, struct rv_error *error)
{
	enum rv_err err = rv_ledger_event(ledger, t_us, "record opened again", "", error);

	if (err == RV_OK)
		err = rv_ledger_anchor(ledger, rv_clock_mono_ns(), "record opened again", error);
	for (int i = 0; err == RV_OK && i < ledger->station->channels; i++) {
		if (!same_conversion(&ledger->in_force[i], &match->in_force[i]))
			err = rv_store_set_conversion(ledger->store, i, t_us, &ledger->in_force[i],
						      error);
		if (err == RV_OK && ledger->quality[i] != RV_GOOD)
			err = rv_store_set_quality(ledger->store, i, t_us, ledger->quality[i],
						   ledger->cause[i], error);
	}
	if (err == RV_OK && ledger->rig.known)
		err = rv_store_set_rig(ledger->store, t_us, ledger->rig.name, ledger->rig.text,
				       ledger->rig.by_page, error);
	if (err == RV_OK && ledger->run.number && found->open_run != ledger->run.number)
		err = carry_on_run(ledger, t_us, error);
	return err;
}

static enum rv_err in_transaction(struct rv_ledger *ledger, const struct rv_store_found *found,
				  bool fits, const struct rv_store_match *match, int64_t t_us,
				  struct rv_error *error)
{
	enum rv_err err = rv_store_begin(ledger->store, error);

	if (err != RV_OK)
		return err;
	err = match ? restore(ledger, match, found, t_us, error)
		    : end_stranger(ledger, found, fits, error);
	if (err == RV_OK)
		err = rv_store_commit(ledger->store, error);
	if (err != RV_OK)
		rv_store_rollback(ledger->store);
	return err;
}

enum rv_err rv_ledger_reopen(struct rv_ledger *ledger, int64_t t_us, struct rv_error *error)
{
	struct rv_store_found found = {0};
	struct rv_store_match match;

	rv_ledger_close(ledger);
	enum rv_err err = rv_store_open_writer(ledger->path, &ledger->store, error);
	if (err != RV_OK)
		return err;
	err = rv_store_find(ledger->store, &found, error);
	rv_text_free(&found.rig_text);
	/* Row time never goes back, in a record put in place of ours neither. */
	if (t_us <= found.newest_us)
		t_us = found.newest_us + 1;
	if (err == RV_OK)
		err = rv_store_match_station(ledger->store, ledger->station, &match, error);
	if (err == RV_OK)
		err = in_transaction(ledger, &found, match.fits, NULL, t_us, error);
	if (err == RV_OK)
		err = rv_store_set_station(ledger->store, ledger->station, ledger->station_text,
					   t_us, error);
	if (err == RV_OK)
		err = rv_store_match_station(ledger->store, ledger->station, &match, error);
	if (err == RV_OK)
		err = in_transaction(ledger, &found, true, &match, t_us, error);
	if (err != RV_OK)
		rv_ledger_close(ledger);
	return err;
}

void rv_ledger_close(struct rv_ledger *ledger)
{
	rv_store_close(ledger->store);
	ledger->store = NULL;
}

void rv_ledger_free_texts(struct rv_ledger *ledger)
{
	free(ledger->station_text);
	free(ledger->run.rig_text);
	free(ledger->rig.text);
}
