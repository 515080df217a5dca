/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/regs.h"

/* Registers computed with Python's struct module (struct.pack with ">h", ">H", ">i", ">I", ">f",
 * ">q", ">d", then bytes swapped in each register and registers reversed as each order asks). */
static void every_type_is_read_in_every_order(void **state)
{
	static const struct {
		const char *label;
		enum rv_number_type type;
		enum rv_byte_order order;
		uint16_t words[4];
		int64_t count;
		double real;
	} cases[] = {
	    /* clang-format off */
	    {"int16 abcd", RV_INT16, RV_ORDER_ABCD, {0xcfc7}, INT64_C(-12345), 0},
	    {"int16 badc", RV_INT16, RV_ORDER_BADC, {0xc7cf}, INT64_C(-12345), 0},
	    {"int16 cdab", RV_INT16, RV_ORDER_CDAB, {0xcfc7}, INT64_C(-12345), 0},
	    {"int16 dcba", RV_INT16, RV_ORDER_DCBA, {0xc7cf}, INT64_C(-12345), 0},
	    {"int16 abcd", RV_INT16, RV_ORDER_ABCD, {0x0001}, INT64_C(1), 0},
	    {"int16 badc", RV_INT16, RV_ORDER_BADC, {0x0100}, INT64_C(1), 0},
	    {"int16 cdab", RV_INT16, RV_ORDER_CDAB, {0x0001}, INT64_C(1), 0},
	    {"int16 dcba", RV_INT16, RV_ORDER_DCBA, {0x0100}, INT64_C(1), 0},
	    {"uint16 abcd", RV_UINT16, RV_ORDER_ABCD, {0xd431}, INT64_C(54321), 0},
	    {"uint16 badc", RV_UINT16, RV_ORDER_BADC, {0x31d4}, INT64_C(54321), 0},
	    {"uint16 cdab", RV_UINT16, RV_ORDER_CDAB, {0xd431}, INT64_C(54321), 0},
	    {"uint16 dcba", RV_UINT16, RV_ORDER_DCBA, {0x31d4}, INT64_C(54321), 0},
	    {"int32 abcd", RV_INT32, RV_ORDER_ABCD, {0xf8a4, 0x32eb}, INT64_C(-123456789), 0},
	    {"int32 badc", RV_INT32, RV_ORDER_BADC, {0xa4f8, 0xeb32}, INT64_C(-123456789), 0},
	    {"int32 cdab", RV_INT32, RV_ORDER_CDAB, {0x32eb, 0xf8a4}, INT64_C(-123456789), 0},
	    {"int32 dcba", RV_INT32, RV_ORDER_DCBA, {0xeb32, 0xa4f8}, INT64_C(-123456789), 0},
	    {"int32 abcd", RV_INT32, RV_ORDER_ABCD, {0x0000, 0x0007}, INT64_C(7), 0},
	    {"int32 badc", RV_INT32, RV_ORDER_BADC, {0x0000, 0x0700}, INT64_C(7), 0},
	    {"int32 cdab", RV_INT32, RV_ORDER_CDAB, {0x0007, 0x0000}, INT64_C(7), 0},
	    {"int32 dcba", RV_INT32, RV_ORDER_DCBA, {0x0700, 0x0000}, INT64_C(7), 0},
	    {"uint32 abcd", RV_UINT32, RV_ORDER_ABCD, {0xee6b, 0x2801}, INT64_C(4000000001), 0},
	    {"uint32 badc", RV_UINT32, RV_ORDER_BADC, {0x6bee, 0x0128}, INT64_C(4000000001), 0},
	    {"uint32 cdab", RV_UINT32, RV_ORDER_CDAB, {0x2801, 0xee6b}, INT64_C(4000000001), 0},
	    {"uint32 dcba", RV_UINT32, RV_ORDER_DCBA, {0x0128, 0x6bee}, INT64_C(4000000001), 0},
	    {"float32 abcd", RV_FLOAT32, RV_ORDER_ABCD, {0x449a, 0x5200}, 0, 1234.5625},
	    {"float32 badc", RV_FLOAT32, RV_ORDER_BADC, {0x9a44, 0x0052}, 0, 1234.5625},
	    {"float32 cdab", RV_FLOAT32, RV_ORDER_CDAB, {0x5200, 0x449a}, 0, 1234.5625},
	    {"float32 dcba", RV_FLOAT32, RV_ORDER_DCBA, {0x0052, 0x9a44}, 0, 1234.5625},
	    {"float32 abcd", RV_FLOAT32, RV_ORDER_ABCD, {0xbdcc, 0xcccd}, 0, -0.10000000149011612},
	    {"float32 badc", RV_FLOAT32, RV_ORDER_BADC, {0xccbd, 0xcdcc}, 0, -0.10000000149011612},
	    {"float32 cdab", RV_FLOAT32, RV_ORDER_CDAB, {0xcccd, 0xbdcc}, 0, -0.10000000149011612},
	    {"float32 dcba", RV_FLOAT32, RV_ORDER_DCBA, {0xcdcc, 0xccbd}, 0, -0.10000000149011612},
	    {"int64 abcd", RV_INT64, RV_ORDER_ABCD, {0xeedd, 0xef0b, 0x8216, 0x7eeb}, INT64_C(-1234567890123456789), 0},
	    {"int64 badc", RV_INT64, RV_ORDER_BADC, {0xddee, 0x0bef, 0x1682, 0xeb7e}, INT64_C(-1234567890123456789), 0},
	    {"int64 cdab", RV_INT64, RV_ORDER_CDAB, {0x7eeb, 0x8216, 0xef0b, 0xeedd}, INT64_C(-1234567890123456789), 0},
	    {"int64 dcba", RV_INT64, RV_ORDER_DCBA, {0xeb7e, 0x1682, 0x0bef, 0xddee}, INT64_C(-1234567890123456789), 0},
	    {"float64 abcd", RV_FLOAT64, RV_ORDER_ABCD, {0xc0c3, 0x4a45, 0x87e7, 0xc06e}, 0, -9876.54321},
	    {"float64 badc", RV_FLOAT64, RV_ORDER_BADC, {0xc3c0, 0x454a, 0xe787, 0x6ec0}, 0, -9876.54321},
	    {"float64 cdab", RV_FLOAT64, RV_ORDER_CDAB, {0xc06e, 0x87e7, 0x4a45, 0xc0c3}, 0, -9876.54321},
	    {"float64 dcba", RV_FLOAT64, RV_ORDER_DCBA, {0x6ec0, 0xe787, 0x454a, 0xc3c0}, 0, -9876.54321},
	    {"float64 abcd", RV_FLOAT64, RV_ORDER_ABCD, {0x44df, 0xe185, 0xca57, 0xc517}, 0, 6.02214076e+23},
	    {"float64 badc", RV_FLOAT64, RV_ORDER_BADC, {0xdf44, 0x85e1, 0x57ca, 0x17c5}, 0, 6.02214076e+23},
	    {"float64 cdab", RV_FLOAT64, RV_ORDER_CDAB, {0xc517, 0xca57, 0xe185, 0x44df}, 0, 6.02214076e+23},
	    {"float64 dcba", RV_FLOAT64, RV_ORDER_DCBA, {0x17c5, 0x57ca, 0x85e1, 0xdf44}, 0, 6.02214076e+23},
	    /* clang-format on */
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_raw raw;
		bool floating = cases[i].type == RV_FLOAT32 || cases[i].type == RV_FLOAT64;
		assert_int_equal(
		    rv_regs_decode(cases[i].words, cases[i].type, cases[i].order, &raw), RV_OK);
		assert_int_equal(raw.kind, floating ? RV_RAW_REAL : RV_RAW_INT);
		if (floating)
			assert_near(cases[i].label, raw.real, cases[i].real, 0.0);
		else if (raw.count != cases[i].count)
			fail_msg("%s: got %lld, want %lld", cases[i].label, (long long)raw.count,
				 (long long)cases[i].count);
	}
}

static void what_is_no_number_is_refused(void **state)
{
	static const uint16_t words[][4] = {
	    {0x7fc0, 0}, {0x7f80, 0}, {0xff80, 0}, {0x7ff8, 0, 0, 0}, {0xfff0, 0, 0, 0}};

	(void)state;
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		struct rv_raw raw = {.kind = RV_RAW_INT, .count = 77};
		enum rv_number_type type = i < 3 ? RV_FLOAT32 : RV_FLOAT64;
		assert_int_equal(rv_regs_decode(words[i], type, RV_ORDER_ABCD, &raw), RV_ERR_RANGE);
		assert_int_equal(raw.kind, RV_RAW_INT);
		assert_int_equal(raw.count, 77);
	}
}

static void bit_0_is_the_least_significant(void **state)
{
	(void)state;
	assert_int_equal(rv_regs_bit(0x0001, 0).count, 1);
	assert_int_equal(rv_regs_bit(0x0001, 1).count, 0);
	assert_int_equal(rv_regs_bit(0x8000, 15).count, 1);
	assert_int_equal(rv_regs_bit(0x7fff, 15).count, 0);
}

struct wanted {
	enum rv_register_space space;
	int address;
	enum rv_number_type type;
	int alive; /* register, or -1 */
};

/* A station of one device (index 1, so that an ignored device would show). */
static struct rv_station *station_of(const struct wanted *wanted, int count)
{
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = 2;
	station.channels = count + 1;
	for (int i = 0; i < count; i++) {
		struct rv_channel *channel = &station.channel[i + 1];
		channel->device = 1;
		channel->type = wanted[i].type;
		channel->source = (struct rv_register){wanted[i].space, wanted[i].address, -1};
		channel->alive.used = wanted[i].alive >= 0;
		channel->alive.source = (struct rv_register){wanted[i].space, wanted[i].alive, -1};
	}
	return &station;
}

static void check_plan(const char *label, const struct rv_regs_plan *plan, const char *want)
{
	static const char letters[] = "IHDC";
	char got[200] = "";
	size_t at = 0;

	for (int i = 0; i < plan->requests && at < sizeof got; i++)
		at += (size_t)snprintf(got + at, sizeof got - at, "%s%c%d+%d", i ? " " : "",
				       letters[plan->request[i].space], plan->request[i].address,
				       plan->request[i].count);
	if (strcmp(got, want) != 0)
		fail_msg("%s: got %s, want %s", label, got, want);
}

static void neighbours_share_a_request_and_no_number_is_split(void **state)
{
	static const struct {
		const char *label;
		struct wanted wanted[4];
		int count;
		const char *bridged, *strict;
	} cases[] = {
	    {"one", {{0, 5, RV_INT16, -1}}, 1, "I5+1", "I5+1"},
	    {"two neighbours out of order",
	     {{0, 2, RV_FLOAT32, -1}, {0, 0, RV_FLOAT32, -1}},
	     2,
	     "I0+4",
	     "I0+4"},
	    {"alive behind a gap", {{0, 0, RV_FLOAT32, 8}}, 1, "I0+9", "I0+2 I8+1"},
	    {"a gap of 8 is bridged",
	     {{1, 0, RV_INT16, -1}, {1, 9, RV_INT16, -1}},
	     2,
	     "H0+10",
	     "H0+1 H9+1"},
	    {"a gap of 9 is not; the answers differ in length",
	     {{1, 0, RV_INT16, -1}, {1, 10, RV_INT16, -1}},
	     2,
	     "H0+1 H10+2",
	     "H0+1 H10+1"},
	    {"the last register cannot be lengthened",
	     {{1, 0, RV_INT16, -1}, {1, 65535, RV_INT16, -1}},
	     2,
	     "H0+1 H65535+1",
	     "H0+1 H65535+1"},
	    {"spaces do not mix",
	     {{0, 0, RV_INT16, -1}, {1, 1, RV_INT16, -1}},
	     2,
	     "I0+1 H1+1",
	     "I0+1 H1+1"},
	    {"the same register twice",
	     {{0, 4, RV_INT32, 4}, {0, 4, RV_UINT16, -1}},
	     2,
	     "I4+2",
	     "I4+2"},
	    {"125 in one, the 126th in the next",
	     {{0, 100, RV_INT16, 108},
	      {0, 116, RV_INT16, 124},
	      {0, 0, RV_INT64, 12},
	      {0, 125, RV_INT16, -1}},
	     4,
	     "I0+13 I100+26",
	     "I0+4 I12+1 I100+1 I108+1 I116+1 I124+2"},
	    {"bits",
	     {{2, 0, 0, -1}, {2, 129, 0, -1}, {2, 300, 0, -1}},
	     3,
	     "D0+130 D300+1",
	     "D0+1 D129+1 D300+1"},
	    {"bits of one length are told apart",
	     {{3, 7, 0, -1}, {3, 300, 0, -1}},
	     2,
	     "C7+1 C300+9",
	     "C7+1 C300+1"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_station *station = station_of(cases[i].wanted, cases[i].count);
		struct rv_regs_plan plan;
		assert_int_equal(rv_regs_plan(station, 1, true, &plan, NULL), RV_OK);
		check_plan(cases[i].label, &plan, cases[i].bridged);
		assert_int_equal(rv_regs_plan(station, 1, false, &plan, NULL), RV_OK);
		check_plan(cases[i].label, &plan, cases[i].strict);
	}
}

/* A full block: numbers of two registers at 0, 2, ... 126 need two requests of at most 125, and
 * every number lies whole in its own. */
static void long_stretches_are_cut_between_numbers(void **state)
{
	struct wanted wanted[63];
	struct rv_regs_plan plan;

	(void)state;
	for (int i = 0; i < 63; i++)
		wanted[i] = (struct wanted){RV_REGISTER_INPUT, 2 * i, RV_FLOAT32, -1};
	assert_int_equal(rv_regs_plan(station_of(wanted, 63), 1, true, &plan, NULL), RV_OK);
	check_plan("63 floats", &plan, "I0+124 I124+2");
	assert_int_equal(plan.values, 63);
	for (int i = 0; i < 63; i++) {
		const struct rv_regs_request *request = &plan.request[plan.value[i].request];
		assert_int_equal(request->address + plan.value[i].offset, 2 * i);
		assert_true(plan.value[i].offset + 2 <= request->count);
		assert_int_equal(plan.alive[i].request, -1);
	}
}

static void a_number_beyond_the_last_register_is_refused(void **state)
{
	const struct wanted wanted = {RV_REGISTER_HOLDING, 65535, RV_INT32, -1};
	struct rv_regs_plan plan = {.requests = -3};
	struct rv_error error;

	(void)state;
	assert_int_equal(rv_regs_plan(station_of(&wanted, 1), 1, true, &plan, &error),
			 RV_ERR_RANGE);
	assert_int_equal(plan.requests, -3);
	assert_non_null(strstr(error.text, "65536"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_type_is_read_in_every_order),
	    cmocka_unit_test(what_is_no_number_is_refused),
	    cmocka_unit_test(bit_0_is_the_least_significant),
	    cmocka_unit_test(neighbours_share_a_request_and_no_number_is_split),
	    cmocka_unit_test(long_stretches_are_cut_between_numbers),
	    cmocka_unit_test(a_number_beyond_the_last_register_is_refused),
	};

	return cmocka_run_group_tests_name("regs", tests, NULL, NULL);
}
