/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Recorded streams of text devices, played with their times through a pseudo-terminal.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "daemon/clock.h"
#include "daemon/source.h"
#include "tests/fakes/replay.h"

enum { MOST = 64 };

struct seen {
	int count;
	char line[MOST][80]; /* "100", "100.5", "bad status", "-" for none */
	int64_t mono_ns[MOST];
	int missed[RV_FAULTS];
};

static void take(void *to, const struct rv_intake *intake)
{
	struct seen *seen = to;

	if (intake->kind == RV_INTAKE_LOST)
		seen->missed[intake->fault] += intake->missed;
	if (intake->kind != RV_INTAKE_MESSAGE || seen->count == MOST)
		return;
	const struct rv_value *value = &intake->message.values[0];
	char *line = seen->line[seen->count];
	seen->mono_ns[seen->count++] = intake->mono_ns;
	if (value->quality == RV_BAD)
		snprintf(line, 80, "bad %s", rv_sample_cause_name(value->cause));
	else if (value->raw.kind == RV_RAW_INT)
		snprintf(line, 80, "%lld", (long long)value->raw.count);
	else
		snprintf(line, 80, "%.4f", value->raw.real);
}

static struct rv_station *plain_station(const char *pattern, const char *field)
{
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = station.channels = 1;
	station.device[0] = (struct rv_device){
	    .name = "wire",
	    .link = RV_LINK_SERIAL_TEXT,
	    .speed_baud = 115200,
	    .data_bits = 8,
	    .parity = 'N',
	    .stop_bits = 1,
	    .every_s = (double)NAN,
	    .timeout_s = 0.3,
	};
	strcpy(station.device[0].pattern, pattern);
	station.channel[0] = (struct rv_channel){.name = "it", .updates_hz = (double)NAN};
	strcpy(station.channel[0].field, field);
	return &station;
}

/* Plays the trace to the end, then a little longer.  True if the times were those of the trace. */
static bool play_once(struct rv_station *station, const char *path, struct seen *seen)
{
	struct replay replay;
	struct rv_source *source;
	struct rv_error error;
	enum rv_fault fault;
	int64_t end_ns = INT64_MAX, last_ns = rv_clock_mono_ns();
	bool in_time = true;

	memset(seen, 0, sizeof *seen);
	assert_int_equal(replay_start(&replay, path), 0);
	strcpy(station->device[0].path, replay.path);
	assert_int_equal(rv_source_new(station, 0, take, seen, &source, &error), RV_OK);
	assert_int_equal(source->type->open(source, &fault, &error), RV_OK);
	replay_begin(&replay);
	while (rv_clock_mono_ns() < end_ns) {
		if (atomic_load(&replay.has_ended) && end_ns == INT64_MAX)
			end_ns = rv_clock_mono_ns() + 50000000;
		assert_int_not_equal(source->type->next(source, &error), RV_ERR_CLOSED);
		/* A call waits 100 ms at most. */
		in_time = in_time && rv_clock_mono_ns() - last_ns < 140000000;
		last_ns = rv_clock_mono_ns();
	}
	assert_false(atomic_load(&replay.failed));
	replay_stop(&replay);
	while (source->type->next(source, &error) != RV_ERR_CLOSED)
		;
	assert_non_null(strstr(error.text, "the port is gone"));
	source->type->close(source);
	source->type->free(source);
	return in_time && !atomic_load(&replay.was_held_up);
}

/* Again when the machine was too busy to keep the trace's times. */
static void play(struct rv_station *station, const char *trace, struct seen *seen)
{
	char path[512];

	snprintf(path, sizeof path, "%s/%s", RV_TRACES, trace);
	for (int tries = 0; tries < 20; tries++)
		if (play_once(station, path, seen))
			return;
	print_message("this machine is too busy for %s\n", trace);
	skip();
}

static void assert_lines(const struct seen *seen, const char *const *want, int count)
{
	for (int i = 0; i < count || i < seen->count; i++) {
		const char *got = i < seen->count ? seen->line[i] : "nothing";
		const char *wanted = i < count ? want[i] : "nothing";
		if (strcmp(got, wanted) != 0)
			fail_msg("reading %d: got %s, want %s", i, got, wanted);
	}
}

static void a_counter_that_talks_is_read_whole_or_not_at_all(void **state)
{
	static const char *const want[] = {
	    "100", "101", "102", "103", "104", "-5", "106", "108", "9223372036854775807"};
	struct seen seen;

	(void)state;
	play(plain_station("^C(?<count>[-+]?\\d+)$", "count"), "encoder.trace", &seen);
	assert_lines(&seen, want, 9);
	/* Two of noise, one that is no whole number, one with a pause in it. */
	assert_int_equal(seen.missed[RV_FAULT_GARBLED], 4);
	assert_int_equal(seen.missed[RV_FAULT_TOO_LONG], 1);
	for (int i = 1; i < seen.count; i++)
		assert_true(seen.mono_ns[i] >= seen.mono_ns[i - 1]);
}

static void status_unit_life_and_repeats_are_judged_in_each_line(void **state)
{
	static const char *const want[] = {
	    "100.0000",		"101.5000", "bad status", "bad unit",	"101.5000",
	    "bad not a number", "102.0000", "bad frozen", "bad frozen", "105.0000"};
	struct rv_station *station = plain_station(
	    "^(?<status>[a-z]+) +(?<force>[-+.\\d]+) (?<unit>kg|lb) #(?<mark>\\d+)$", "force");
	struct rv_channel *channel = &station->channel[0];
	struct seen seen;

	(void)state;
	strcpy(channel->wire_unit, "kg");
	strcpy(channel->good_when.field, "status");
	channel->good_when.words = 2;
	strcpy(channel->good_when.word[0], "steady");
	strcpy(channel->good_when.word[1], "moving");
	channel->updates_hz = 2.0;
	channel->alive.used = true;
	strcpy(channel->alive.field, "mark");
	channel->alive.changes_within_s = 0.65;
	play(station, "shackle.trace", &seen);
	assert_lines(&seen, want, 10);
	assert_int_equal(seen.missed[RV_FAULT_GARBLED], 0);
}

static void an_asked_device_that_is_late_costs_readings_only(void **state)
{
	static const char *const want[] = {"2", "5", "9"};
	struct rv_station *station = plain_station("^W (?<weight>\\d+)$", "weight");
	struct seen seen;

	(void)state;
	strcpy(station->device[0].ask, "\r");
	station->device[0].ask_len = 1;
	station->device[0].timeout_s = 0.2;
	play(station, "asked.trace", &seen);
	assert_lines(&seen, want, 3);
	assert_true(seen.missed[RV_FAULT_TIMEOUT] >= 2);
}

static void patterns_that_cannot_work_are_refused(void **state)
{
	struct rv_source *source;
	struct rv_error error;
	struct seen seen;

	(void)state;
	assert_int_equal(
	    rv_source_new(plain_station("^C(?<count>", "count"), 0, take, &seen, &source, &error),
	    RV_ERR_SYNTAX);
	assert_non_null(strstr(error.text, "device wire: line:"));
	assert_int_equal(rv_source_new(plain_station("^C(?<count>\\d+)$", "force"), 0, take, &seen,
				       &source, &error),
			 RV_ERR_UNKNOWN);
	assert_non_null(strstr(error.text, "no group (?<force>...)"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_counter_that_talks_is_read_whole_or_not_at_all),
	    cmocka_unit_test(status_unit_life_and_repeats_are_judged_in_each_line),
	    cmocka_unit_test(an_asked_device_that_is_late_costs_readings_only),
	    cmocka_unit_test(patterns_that_cannot_work_are_refused),
	};

	return cmocka_run_group_tests_name("text lines", tests, NULL, NULL);
}
