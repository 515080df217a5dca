/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/convert.h"

#define MS INT64_C(1000000)

static struct rv_channel channel_of(enum rv_quantity quantity, double zero, double scale)
{
	struct rv_channel channel = {
	    .quantity = quantity,
	    .type = RV_INT32,
	    .calibration = {.conversion = {.a = {-zero * scale, scale}, .degree = 1}},
	    .capacity = NAN,
	    .wraps_at = NAN,
	    .updates_hz = NAN,
	};

	return channel;
}

static struct rv_value count_of(int64_t count)
{
	return (struct rv_value){.raw = {.kind = RV_RAW_INT, .count = count}};
}

static struct rv_reading take(struct rv_convert *convert, struct rv_value value, int64_t at_ns)
{
	struct rv_reading reading;

	assert_true(rv_convert_take(convert, &value, at_ns, &reading));
	return reading;
}

static void a_count_becomes_a_value(void **state)
{
	/* scale: 12.5 N, zero: 8388 (the worked form of a station file): (9388 - 8388) x 12.5 N */
	struct rv_channel channel = channel_of(RV_TENSION, 8388.0, 12.5);
	struct rv_convert convert;

	(void)state;
	rv_convert_init(&convert, &channel);
	struct rv_reading reading = take(&convert, count_of(9388), MS);
	assert_near("value", reading.value, 12500.0, 1e-9);
	assert_near("raw", reading.raw, 9388.0, 0.0);
	assert_int_equal(reading.quality, RV_GOOD);
	assert_near("step", rv_convert_step(&channel), 12.5, 0.0);
	strcpy(channel.wire_unit, "kN");
	assert_near("no step where the unit is sent", rv_convert_step(&channel), NAN, 0.0);
}

static void what_the_wire_refused_stays_refused(void **state)
{
	struct rv_channel channel = channel_of(RV_TENSION, 0.0, 1.0);
	struct rv_convert convert;
	struct rv_value status = {
	    .raw = {.kind = RV_RAW_INT, .count = 5}, .quality = RV_BAD, .cause = RV_CAUSE_STATUS};
	struct rv_value none = {.raw = {.kind = RV_RAW_NONE}};
	struct rv_value nan = {.raw = {.kind = RV_RAW_REAL, .real = NAN}};
	struct rv_value doubtful = count_of(5);
	struct rv_reading reading = {.value = 42.0};

	(void)state;
	rv_convert_init(&convert, &channel);
	assert_false(rv_convert_take(&convert, &none, MS, &reading));
	assert_near("untouched", reading.value, 42.0, 0.0);
	reading = take(&convert, status, 2 * MS);
	assert_int_equal(reading.cause, RV_CAUSE_STATUS);
	assert_near("no value", reading.value, NAN, 0.0);
	assert_near("raw is kept", reading.raw, 5.0, 0.0);
	reading = take(&convert, nan, 3 * MS);
	assert_int_equal(reading.quality, RV_BAD);
	assert_int_equal(reading.cause, RV_CAUSE_NOT_A_NUMBER);
	doubtful.quality = RV_UNCERTAIN;
	reading = take(&convert, doubtful, 4 * MS);
	assert_int_equal(reading.quality, RV_UNCERTAIN);
	channel.calibration.conversion.a[1] = INFINITY;
	rv_convert_init(&convert, &channel);
	reading = take(&convert, count_of(5), 5 * MS);
	assert_int_equal(reading.cause, RV_CAUSE_NOT_A_NUMBER);
}

static void a_tension_beyond_its_instrument_is_uncertain_and_keeps_its_value(void **state)
{
	static const struct {
		const char *label;
		enum rv_number_type type;
		double capacity;
		const char *field;
		int64_t count;
		bool beyond;
	} cases[] = {
	    {"at capacity", RV_INT32, 1000.0, "", 1000, false},
	    {"above capacity", RV_INT32, 1000.0, "", 1001, true},
	    {"at -5 %", RV_INT32, 1000.0, "", -50, false},
	    {"below -5 %", RV_INT32, 1000.0, "", -51, true},
	    {"no capacity stated", RV_INT32, NAN, "", 1000000, false},
	    {"int16 at its stop", RV_INT16, NAN, "", 32767, true},
	    {"int16 at its other stop", RV_INT16, NAN, "", -32768, true},
	    {"int16 one before", RV_INT16, NAN, "", 32766, false},
	    {"uint16 at its stop", RV_UINT16, NAN, "", 65535, true},
	    {"uint16 zero is a number", RV_UINT16, NAN, "", 0, false},
	    {"int32 at its stop", RV_INT32, NAN, "", INT32_MAX, true},
	    {"uint32 at its stop", RV_UINT32, NAN, "", UINT32_MAX, true},
	    {"uint32 below", RV_UINT32, NAN, "", UINT32_MAX - 1, false},
	    {"int64 at its stop", RV_INT64, NAN, "", INT64_MAX, true},
	    {"a float has no stop", RV_FLOAT32, NAN, "", INT64_MAX, false},
	    {"nor has a long one", RV_FLOAT64, NAN, "", INT64_MIN, false},
	    {"a text has no type", RV_INT16, NAN, "force", 32767, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_channel channel = channel_of(RV_TENSION, 0.0, 1.0);
		struct rv_convert convert;

		channel.type = cases[i].type;
		channel.capacity = cases[i].capacity;
		strcpy(channel.field, cases[i].field);
		rv_convert_init(&convert, &channel);
		struct rv_reading reading = take(&convert, count_of(cases[i].count), MS);
		if ((reading.quality == RV_UNCERTAIN) != cases[i].beyond ||
		    (reading.cause == RV_CAUSE_OUT_OF_RANGE) != cases[i].beyond)
			fail_msg("%s", cases[i].label);
		assert_near(cases[i].label, reading.value, (double)cases[i].count, 0.0);
	}
}

static void a_counter_goes_on_over_its_end(void **state)
{
	static const struct {
		const char *label;
		double period;
		int64_t counts[4];
		double metres[4];
		bool rolled[4];
	} cases[] = {
	    {"16 bits up",
	     65536.0,
	     {65530, 65535, 2, 9},
	     {655.30, 655.35, 655.38, 655.45},
	     {false, false, true, false}},
	    {"16 bits down",
	     65536.0,
	     {3, 65534, 65530, 1},
	     {0.03, -0.02, -0.06, 0.01},
	     {false, true, false, true}},
	    {"signed 16 bits",
	     65536.0,
	     {32766, -32767, -32760, 32765},
	     {327.66, 327.69, 327.76, 327.65},
	     {false, true, false, true}},
	    {"decades",
	     1000.0,
	     {998, 1, 999, 999},
	     {9.98, 10.01, 9.99, 9.99},
	     {false, true, true, false}},
	    {"no roll-over declared",
	     NAN,
	     {10, 12, 9, 8},
	     {0.10, 0.12, 0.09, 0.08},
	     {false, false, false, false}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.01);
		struct rv_convert convert;

		channel.wraps_at = cases[i].period;
		rv_convert_init(&convert, &channel);
		for (int k = 0; k < 4; k++) {
			struct rv_reading reading =
			    take(&convert, count_of(cases[i].counts[k]), (k + 1) * 20 * MS);
			struct rv_conversion now = rv_convert_in_force(&convert);

			assert_near(cases[i].label, reading.value, cases[i].metres[k], 1e-9);
			assert_int_equal(reading.rolled_over, cases[i].rolled[k]);
			assert_int_equal(reading.quality, RV_GOOD);
			/* Whoever has the raw number and the conversion in force has the value. */
			assert_near("in force", rv_station_convert(&now, reading.raw),
				    cases[i].metres[k], 1e-9);
		}
	}
}

static void a_conversion_in_force_can_be_taken_up_again(void **state)
{
	struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.01);
	struct rv_convert before, after;

	(void)state;
	channel.wraps_at = 1000.0;
	rv_convert_init(&before, &channel);
	take(&before, count_of(995), 20 * MS);
	take(&before, count_of(5), 40 * MS);
	struct rv_conversion kept = rv_convert_in_force(&before);
	rv_convert_init(&after, &channel); /* a restart */
	rv_convert_set(&after, &kept);
	assert_near("goes on", take(&after, count_of(8), 5000 * MS).value, 10.08, 1e-9);
	rv_convert_set(&before, &kept); /* the same while it runs: nothing is counted twice */
	assert_near("same", take(&before, count_of(8), 60 * MS).value, 10.08, 1e-9);
}

static void a_number_the_counter_cannot_hold_is_bad(void **state)
{
	struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.01);
	struct rv_convert convert;

	(void)state;
	channel.wraps_at = 1000.0;
	rv_convert_init(&convert, &channel);
	take(&convert, count_of(10), 20 * MS);
	struct rv_reading reading = take(&convert, count_of(5000), 40 * MS);
	assert_int_equal(reading.quality, RV_BAD);
	assert_int_equal(reading.cause, RV_CAUSE_OUT_OF_RANGE);
	reading = take(&convert, count_of(12), 60 * MS); /* and is forgotten */
	assert_near("goes on", reading.value, 0.12, 1e-12);
	assert_false(reading.rolled_over);
}

static void a_curve_is_shifted_with_the_counter(void **state)
{
	struct rv_channel channel = channel_of(RV_OTHER, 0.0, 1.0);
	struct rv_convert convert;

	(void)state;
	channel.wraps_at = 100.0;
	channel.calibration.conversion =
	    (struct rv_conversion){.a = {1.0, -2.0, 0.5, 0.25}, .degree = 3};
	rv_convert_init(&convert, &channel);
	take(&convert, count_of(90), MS);
	struct rv_reading reading = take(&convert, count_of(7), 2 * MS); /* 107 */
	struct rv_conversion now = rv_convert_in_force(&convert);
	double want = 1.0 - 2.0 * 107.0 + 0.5 * 107.0 * 107.0 + 0.25 * 107.0 * 107.0 * 107.0;
	assert_near("value", reading.value, want, 1e-6);
	assert_near("in force", rv_station_convert(&now, 7.0), want, 1e-6);
}

static void a_jump_no_line_makes_is_bad_until_it_is_over(void **state)
{
	/* 1 mm steps, a reading each 20 ms; within reach: 5 m/s x (0.02 + 0.05) s + 2 mm = 0.352 m.
	 */
	static const struct {
		const char *label;
		int64_t counts[4];
		bool bad[4];
	} cases[] = {
	    {"as fast as can be", {1000, 1351, 1702, 2053}, {false, false, false, false}},
	    {"too fast", {1000, 1353, 1000, 1003}, {false, true, false, false}},
	    {"backwards too fast", {1000, 647, 1000, 997}, {false, true, false, false}},
	    {"a spike of two readings", {1000, 9000, 9000, 1003}, {false, true, true, false}},
	    {"two spikes", {1000, 9000, -9000, 1003}, {false, true, true, false}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.001);
		struct rv_convert convert;

		rv_convert_init(&convert, &channel);
		for (int k = 0; k < 4; k++) {
			struct rv_reading reading =
			    take(&convert, count_of(cases[i].counts[k]), (k + 1) * 20 * MS);

			if ((reading.quality == RV_BAD) != cases[i].bad[k] ||
			    (reading.cause == RV_CAUSE_JUMP) != cases[i].bad[k] ||
			    reading.restarted)
				fail_msg("%s, reading %d", cases[i].label, k);
		}
	}
}

static void a_counter_set_anew_is_taken_after_a_second_and_says_so(void **state)
{
	struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.001);
	struct rv_convert convert;
	int bad = 0, restarts = 0;

	(void)state;
	rv_convert_init(&convert, &channel);
	for (int k = 0; k < 200; k++) {
		int64_t count = k < 50 ? 25000 : k - 50;
		struct rv_reading reading = take(&convert, count_of(count), (k + 1) * 20 * MS);

		bad += reading.quality == RV_BAD;
		restarts += reading.restarted;
		if (reading.restarted)
			assert_int_equal(k, 100);
	}
	assert_int_equal(bad, 50);
	assert_int_equal(restarts, 1);
}

static void a_pause_excuses_a_distance(void **state)
{
	struct rv_channel channel = channel_of(RV_PAYOUT, 0.0, 0.001);
	struct rv_convert convert;

	(void)state;
	rv_convert_init(&convert, &channel);
	take(&convert, count_of(1000), 20 * MS);
	struct rv_reading reading = take(&convert, count_of(4000), 3020 * MS); /* 1 m/s */
	assert_int_equal(reading.quality, RV_GOOD);
	/* A zero put in by a person is no jump either. */
	struct rv_conversion moved = {.a = {50.0, 0.001}, .degree = 1};
	rv_convert_set(&convert, &moved);
	reading = take(&convert, count_of(4001), 3040 * MS);
	assert_int_equal(reading.quality, RV_GOOD);
	assert_near("anew", reading.value, 54.001, 1e-9);
}

static void repeats_of_a_slow_instrument_are_no_readings(void **state)
{
	/* 4 values a second, asked 50 times a second. */
	struct rv_channel channel = channel_of(RV_TENSION, 0.0, 1.0);
	struct rv_convert convert;
	int readings = 0;

	(void)state;
	channel.updates_hz = 4.0;
	rv_convert_init(&convert, &channel);
	for (int k = 0; k < 100; k++)
		readings +=
		    !take(&convert, count_of(1000 + k * 20 / 250), (k + 1) * 20 * MS).repeat;
	assert_int_equal(readings, 8);
	/* Standing still, it still counts as alive four times a second. */
	readings = 0;
	for (int k = 100; k < 200; k++)
		readings += !take(&convert, count_of(1007), (k + 1) * 20 * MS).repeat;
	assert_in_range(readings, 8, 9);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_count_becomes_a_value),
	    cmocka_unit_test(what_the_wire_refused_stays_refused),
	    cmocka_unit_test(a_tension_beyond_its_instrument_is_uncertain_and_keeps_its_value),
	    cmocka_unit_test(a_counter_goes_on_over_its_end),
	    cmocka_unit_test(a_conversion_in_force_can_be_taken_up_again),
	    cmocka_unit_test(a_number_the_counter_cannot_hold_is_bad),
	    cmocka_unit_test(a_curve_is_shifted_with_the_counter),
	    cmocka_unit_test(a_jump_no_line_makes_is_bad_until_it_is_over),
	    cmocka_unit_test(a_counter_set_anew_is_taken_after_a_second_and_says_so),
	    cmocka_unit_test(a_pause_excuses_a_distance),
	    cmocka_unit_test(repeats_of_a_slow_instrument_are_no_readings),
	};

	return cmocka_run_group_tests_name("convert", tests, NULL, NULL);
}
