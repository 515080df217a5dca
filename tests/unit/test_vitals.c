/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/vitals.h"

static struct rv_channel plain_channel(void)
{
	struct rv_channel channel = {.updates_hz = (double)NAN};

	return channel;
}

static struct rv_vitals_piece piece(const char *text)
{
	return (struct rv_vitals_piece){text, text ? strlen(text) : 0};
}

static struct rv_value judge(struct rv_vitals *vitals, const struct rv_channel *channel,
			     struct rv_vitals_seen seen, double now_s, int64_t count)
{
	struct rv_value value = {.raw = {.kind = RV_RAW_INT, .count = count}};

	rv_vitals_judge(vitals, channel, &seen, (int64_t)(now_s * 1e9), &value);
	return value;
}

static void assert_judged(const char *label, struct rv_value value, enum rv_quality quality,
			  enum rv_cause cause)
{
	if (value.quality != quality || value.cause != cause)
		fail_msg("%s: got %s %s, want %s %s", label, rv_sample_quality_name(value.quality),
			 rv_sample_cause_name(value.cause), rv_sample_quality_name(quality),
			 rv_sample_cause_name(cause));
}

static void a_channel_that_asks_for_nothing_is_good(void **state)
{
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};

	(void)state;
	for (int i = 0; i < 3; i++) {
		struct rv_value value =
		    judge(&vitals, &channel, (struct rv_vitals_seen){.is_number = true}, i, 5);
		assert_judged("plain", value, RV_GOOD, RV_CAUSE_NONE);
		assert_int_equal(value.raw.kind, RV_RAW_INT);
	}
}

static void no_number_is_bad_and_has_no_raw(void **state)
{
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};
	struct rv_value value = judge(&vitals, &channel, (struct rv_vitals_seen){0}, 0, 5);

	(void)state;
	assert_judged("not a number", value, RV_BAD, RV_CAUSE_NOT_A_NUMBER);
	assert_int_equal(value.raw.kind, RV_RAW_NONE);
}

static void a_sign_of_life_must_change_in_time(void **state)
{
	static const struct {
		double now_s;
		const char *mark;
		enum rv_quality quality;
	} steps[] = {
	    {10.0, "17", RV_GOOD}, /* first sight: its clock starts */
	    {10.9, "17", RV_GOOD}, /* not yet due */
	    {11.1, "17", RV_BAD},  /* unchanged for longer than 1 s */
	    {11.2, "18", RV_GOOD}, /* it lives again */
	    {12.1, "18", RV_GOOD}, {12.2001, "18", RV_BAD},
	    {90.0, "18", RV_BAD}, /* as after a gap: the same mark proves nothing */
	    {90.1, NULL, RV_BAD}, /* a message without it proves nothing either */
	    {90.2, "19", RV_GOOD},
	};
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};

	(void)state;
	channel.alive.used = true;
	channel.alive.changes_within_s = 1.0;
	for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
		struct rv_vitals_seen seen = {.alive = piece(steps[i].mark), .is_number = true};
		struct rv_value value = judge(&vitals, &channel, seen, steps[i].now_s, 5);
		assert_judged(steps[i].mark ? steps[i].mark : "none", value, steps[i].quality,
			      steps[i].quality == RV_BAD ? RV_CAUSE_FROZEN : RV_CAUSE_NONE);
	}
}

static void a_sign_of_life_never_seen_is_frozen(void **state)
{
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};

	(void)state;
	channel.alive.used = true;
	channel.alive.changes_within_s = 1.0;
	assert_judged("never seen",
		      judge(&vitals, &channel, (struct rv_vitals_seen){.is_number = true}, 1, 5),
		      RV_BAD, RV_CAUSE_FROZEN);
}

static void the_instruments_own_word_decides(void **state)
{
	static const struct {
		const char *word;
		bool good;
	} cases[] = {{"steady", true},	 {"moving", true}, {"overload", false}, {"stead", false},
		     {"steady ", false}, {"", false},	   {NULL, false}};
	struct rv_channel channel = plain_channel();

	(void)state;
	strcpy(channel.good_when.field, "status");
	channel.good_when.words = 2;
	strcpy(channel.good_when.word[0], "steady");
	strcpy(channel.good_when.word[1], "moving");
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_vitals vitals = {0};
		struct rv_vitals_seen seen = {.status = piece(cases[i].word), .is_number = true};
		struct rv_value value = judge(&vitals, &channel, seen, 1, 5);
		assert_judged(cases[i].word ? cases[i].word : "missing", value,
			      cases[i].good ? RV_GOOD : RV_BAD,
			      cases[i].good ? RV_CAUSE_NONE : RV_CAUSE_STATUS);
		assert_int_equal(value.raw.kind, RV_RAW_INT);
	}
}

static void a_message_that_names_another_unit_is_bad(void **state)
{
	static const struct {
		const char *declared, *named;
		bool good;
	} cases[] = {{"kg", "kg", true}, {"kg", " KG ", true}, {"kg", "lb", false},
		     {"kg", "k", false}, {"kg", "", false},    {"kg", NULL, true},
		     {"", "lb", true},	 {"kN", "N", false}};
	struct rv_channel channel = plain_channel();

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_vitals vitals = {0};
		struct rv_vitals_seen seen = {.unit = piece(cases[i].named), .is_number = true};
		strcpy(channel.wire_unit, cases[i].declared);
		assert_judged(cases[i].named ? cases[i].named : "none",
			      judge(&vitals, &channel, seen, 1, 5),
			      cases[i].good ? RV_GOOD : RV_BAD,
			      cases[i].good ? RV_CAUSE_NONE : RV_CAUSE_UNIT);
	}
}

/* An instrument of 3 Hz behind a link of 10 Hz: 5 holds still for a second, then comes 6. */
static void repeats_are_no_new_readings(void **state)
{
	static const struct {
		double now_s;
		int64_t count;
		bool is_new;
	} steps[] = {{0.0, 5, true},  {0.1, 5, false}, {0.2, 5, false}, {0.31, 5, true},
		     {0.4, 5, false}, {0.5, 6, true},  {0.6, 6, false}, {0.7, 5, true}};
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};

	(void)state;
	channel.updates_hz = 3.0;
	for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
		struct rv_vitals_seen seen = {.is_number = true};
		struct rv_value value =
		    judge(&vitals, &channel, seen, steps[i].now_s, steps[i].count);
		assert_int_equal(value.quality, RV_GOOD);
		if ((value.raw.kind != RV_RAW_NONE) != steps[i].is_new)
			fail_msg("at %.2f s: new is not as it should be", steps[i].now_s);
	}
}

static void the_first_good_reading_after_a_bad_one_is_new(void **state)
{
	struct rv_channel channel = plain_channel();
	struct rv_vitals vitals = {0};
	struct rv_vitals_seen good = {.is_number = true}, bad = {0};

	(void)state;
	channel.updates_hz = 1.0;
	judge(&vitals, &channel, good, 0.0, 5);
	judge(&vitals, &channel, bad, 0.1, 5);
	assert_int_equal(judge(&vitals, &channel, good, 0.2, 5).raw.kind, RV_RAW_INT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_channel_that_asks_for_nothing_is_good),
	    cmocka_unit_test(no_number_is_bad_and_has_no_raw),
	    cmocka_unit_test(a_sign_of_life_must_change_in_time),
	    cmocka_unit_test(a_sign_of_life_never_seen_is_frozen),
	    cmocka_unit_test(the_instruments_own_word_decides),
	    cmocka_unit_test(a_message_that_names_another_unit_is_bad),
	    cmocka_unit_test(repeats_are_no_new_readings),
	    cmocka_unit_test(the_first_good_reading_after_a_bad_one_is_new),
	};

	return cmocka_run_group_tests_name("vitals", tests, NULL, NULL);
}
