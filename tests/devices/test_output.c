/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alarm outputs against a unit of our own: what is wanted stands in its coil.
 */
#include "tests/rvtest.h"

#include <stdatomic.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/output.h"
#include "tests/fakes/fake_unit.h"

enum { UNIT = 4 };

struct told {
	atomic_int failures, cures;
};

static void tell(void *to, int output, bool failed, const char *text)
{
	struct told *told = to;

	(void)output;
	(void)text;
	atomic_fetch_add(failed ? &told->failures : &told->cures, 1);
}

static struct rv_station *station_for(const struct fake_unit *fake, bool rest_energised)
{
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = station.outputs = 1;
	station.device[0] = (struct rv_device){
	    .name = "horns",
	    .link = RV_LINK_MODBUS_TCP,
	    .address = "127.0.0.1",
	    .port = fake->port,
	    .unit = UNIT,
	    .every_s = 0.5,
	    .timeout_s = 0.2,
	};
	station.output[0] = (struct rv_output){.name = "horn", .rest_energised = rest_energised};
	return &station;
}

/* Waits with patience; a busy machine is no fault. */
static bool comes_true(atomic_uint *what, unsigned int want)
{
	for (int i = 0; i < 4000 && atomic_load(what) != want; i++)
		rv_clock_sleep_until(rv_clock_mono_ns() + 5000000);
	return atomic_load(what) == want;
}

static bool grows(atomic_int *what, int beyond)
{
	for (int i = 0; i < 4000 && atomic_load(what) <= beyond; i++)
		rv_clock_sleep_until(rv_clock_mono_ns() + 5000000);
	return atomic_load(what) > beyond;
}

static void a_coil_follows_what_is_wanted_and_stopping_releases_it(void **state)
{
	static const bool rests[] = {true, false};

	(void)state;
	for (int i = 0; i < 2; i++) {
		struct fake_unit fake = {.unit = UNIT, .answers_others = true, .coil = 7};
		struct told told = {0};
		struct rv_output_report report = {tell, &told};
		struct rv_outputs *outputs;
		assert_int_equal(fake_unit_start_tcp(&fake), 0);
		assert_int_equal(
		    rv_output_start(station_for(&fake, rests[i]), &report, &outputs, NULL), RV_OK);
		assert_true(comes_true(&fake.coil, rests[i]));
		rv_output_drive(outputs, 0, true);
		assert_true(comes_true(&fake.coil, !rests[i]));
		/* Somebody else wrote the coil: put right within a second or so. */
		atomic_store(&fake.coil, rests[i]);
		assert_true(comes_true(&fake.coil, !rests[i]));
		rv_output_drive(outputs, 0, false);
		assert_true(comes_true(&fake.coil, rests[i]));
		rv_output_stop(outputs);
		assert_int_equal(atomic_load(&fake.coil), 0);
		assert_int_equal(atomic_load(&told.failures), 0);
		fake_unit_stop(&fake);
	}
}

static void an_output_that_cannot_be_written_is_told_and_its_cure_too(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true, .fault_ratio = 1.0};
	struct told told = {0};
	struct rv_output_report report = {tell, &told};
	struct rv_outputs *outputs;

	(void)state;
	assert_int_equal(fake_unit_start_tcp(&fake), 0);
	assert_int_equal(rv_output_start(station_for(&fake, true), &report, &outputs, NULL), RV_OK);
	assert_true(comes_true(&fake.coil, 1));
	atomic_store(&fake.fault, FAKE_SILENT);
	assert_true(grows(&told.failures, 0));
	assert_int_equal(atomic_load(&told.cures), 0);
	atomic_store(&fake.fault, FAKE_NONE);
	assert_true(grows(&told.cures, 0));
	rv_output_drive(outputs, 0, true);
	assert_true(comes_true(&fake.coil, 0));
	rv_output_stop(outputs);
	fake_unit_stop(&fake);
	assert_int_equal(atomic_load(&told.failures), 1);
}

static void outputs_where_nothing_may_be_written_are_refused(void **state)
{
	struct fake_unit fake = {.port = 1};
	struct rv_station *station = station_for(&fake, true);
	struct rv_output_report report = {tell, NULL};
	struct rv_outputs *outputs;
	struct rv_error error;

	(void)state;
	station->channels = 1;
	station->channel[0] = (struct rv_channel){.name = "lead", .quantity = RV_TENSION};
	assert_int_equal(rv_output_start(station, &report, &outputs, &error), RV_ERR_REFUSED);
	assert_non_null(strstr(error.text, "carries a channel"));
	station->device[0].write = true;
	station->device[0].link = RV_LINK_MODBUS_RTU;
	assert_int_equal(rv_output_start(station, &report, &outputs, &error), RV_ERR_REFUSED);
	assert_non_null(strstr(error.text, "holds its serial port"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_coil_follows_what_is_wanted_and_stopping_releases_it),
	    cmocka_unit_test(an_output_that_cannot_be_written_is_told_and_its_cure_too),
	    cmocka_unit_test(outputs_where_nothing_may_be_written_are_refused),
	};

	return cmocka_run_group_tests_name("output", tests, NULL, NULL);
}
