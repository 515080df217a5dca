/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/live.h"
#include "daemon/live_json.h"
#include "tests/page/played.h"

enum { ROUNDS = 2000 };

struct bench {
	struct rv_live_board *board;
	struct rv_live live;
};

/* Every field it checks carries the round's number: a torn copy would show two. */
static void *publish(void *arg)
{
	struct bench *bench = arg;

	for (int i = 1; i <= ROUNDS; i++) {
		bench->live.mono_ns = i;
		bench->live.record.readings = i;
		bench->live.rig_number = i;
		rv_live_publish(bench->board, &bench->live);
	}
	return NULL;
}

static void readers_see_whole_snapshots_and_never_an_older_one(void **state)
{
	struct bench *bench = calloc(1, sizeof *bench);
	struct rv_live *seen = calloc(1, sizeof *seen);
	pthread_t thread;
	uint64_t version = 0;

	(void)state;
	assert_non_null(bench);
	assert_non_null(seen);
	assert_int_equal(rv_live_new(&bench->board), RV_OK);
	assert_int_equal(pthread_create(&thread, NULL, publish, bench), 0);
	while (version < ROUNDS) {
		assert_true(
		    rv_live_wait(bench->board, version, rv_clock_mono_ns() + 10000000000LL, seen));
		assert_true(seen->version > version);
		assert_true(seen->mono_ns == (int64_t)seen->version);
		assert_true(seen->record.readings == seen->mono_ns);
		assert_int_equal(seen->rig_number, (int)seen->mono_ns);
		version = seen->version;
	}
	pthread_join(thread, NULL);
	assert_false(rv_live_wait(bench->board, version, rv_clock_mono_ns() + 1000000, seen));
	rv_live_free(bench->board);
	free(bench);
	free(seen);
}

static json_t *json_of(struct rv_live *live, struct rv_station *station, struct rv_ground *ground)
{
	json_t *json = rv_live_json(live, station, ground);

	assert_non_null(json);
	return json;
}

static json_t *first(const json_t *json, const char *list)
{
	return json_array_get(json_object_get(json, list), 0);
}

static void a_bad_channel_has_no_value_whatever_the_snapshot_holds(void **state)
{
	struct rv_live *live = calloc(1, sizeof *live);
	struct rv_station station;
	struct rv_ground *ground = played_ground();

	(void)state;
	assert_non_null(live);
	played_station(&station, 0);
	played_live(live);
	json_t *json = json_of(live, &station, ground);
	assert_near("good", json_real_value(json_object_get(first(json, "channels"), "value")),
		    21300.0, 0.0);
	json_decref(json);
	live->channel[0].quality = RV_BAD;
	live->channel[0].cause = RV_CAUSE_FROZEN;
	json = json_of(live, &station, ground);
	assert_true(json_is_null(json_object_get(first(json, "channels"), "value")));
	assert_string_equal(json_string_value(json_object_get(first(json, "channels"), "cause")),
			    "frozen");
	json_decref(json);
	rv_ground_free(ground);
	free(live);
}

static void every_key_of_the_contract_is_there(void **state)
{
	static const char *const keys[] = {
	    "boot", "mono_s", "utc",	  "clock_trusted", "simulated",	 "state",      "data",
	    "unit", "lines",  "channels", "pull",	   "components", "weakest",    "not_rated",
	    "run",  "alarms", "cells",	  "legs",	   "start",	 "rig_number", "record",
	};
	struct rv_live *live = calloc(1, sizeof *live);
	struct rv_station station;
	struct rv_ground *ground = played_ground();

	(void)state;
	assert_non_null(live);
	played_station(&station, 0);
	played_live(live);
	json_t *json = json_of(live, &station, ground);
	for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
		if (!json_object_get(json, keys[i]))
			print_error("%s\n", keys[i]);
		assert_non_null(json_object_get(json, keys[i]));
	}
	assert_string_equal(json_string_value(json_object_get(first(json, "lines"), "motion")),
			    "in");
	json_decref(json);

	json = json_of(live, &station, NULL); /* without a rig nothing of it is told */
	assert_int_equal(json_array_size(json_object_get(json, "components")), 0);
	assert_true(json_is_null(json_object_get(json, "weakest")));
	json_decref(json);
	rv_ground_free(ground);
	free(live);
}

static void an_alarm_cut_in_the_middle_of_a_letter_is_still_told(void **state)
{
	struct rv_live *live = calloc(1, sizeof *live);
	struct rv_station station;

	(void)state;
	assert_non_null(live);
	played_station(&station, 0);
	played_live(live);
	live->alarms = 1;
	snprintf(live->alarm[0].name, sizeof live->alarm[0].name, "line over limit");
	snprintf(live->alarm[0].text, sizeof live->alarm[0].text, "Kausche 103 %% \xc3");
	json_t *list = rv_live_json_alarms(live, &station);
	assert_int_equal(json_array_size(list), 1);
	const json_t *alarm = json_array_get(list, 0);
	assert_string_equal(json_string_value(json_object_get(alarm, "text")), "Kausche 103 % ?");
	assert_string_equal(json_string_value(json_object_get(alarm, "about")), "limit");
	json_decref(list);
	free(live);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(readers_see_whole_snapshots_and_never_an_older_one),
	    cmocka_unit_test(a_bad_channel_has_no_value_whatever_the_snapshot_holds),
	    cmocka_unit_test(every_key_of_the_contract_is_there),
	    cmocka_unit_test(an_alarm_cut_in_the_middle_of_a_letter_is_still_told),
	};

	return cmocka_run_group_tests_name("live", tests, NULL, NULL);
}
