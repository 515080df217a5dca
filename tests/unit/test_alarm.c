/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * States and transitions of IEC 62682 / ANSI/ISA-18.2 from memory, not re-read; the property that
 * must hold: a condition that clears before it was acknowledged stays visible until it is.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "core/alarm.h"

#define S INT64_C(1000000000)

enum stroke { ON, OFF, ACKNOWLEDGE, RESET, RENEW, SHELVE, UNSHELVE, REMOVE, RESTORE, STROKES };

static bool strike(struct rv_alarm *alarm, enum stroke stroke, int64_t at_ns)
{
	switch (stroke) {
	case ON:
	case OFF:
		return rv_alarm_see(alarm, stroke == ON, at_ns);
	case ACKNOWLEDGE:
		return rv_alarm_acknowledge(alarm, at_ns);
	case RESET:
		return rv_alarm_reset(alarm, at_ns);
	case RENEW:
		return rv_alarm_renew(alarm, at_ns);
	case SHELVE:
		return rv_alarm_shelve(alarm, at_ns);
	case UNSHELVE:
		return rv_alarm_unshelve(alarm, at_ns);
	case REMOVE:
		return rv_alarm_remove(alarm, at_ns);
	case RESTORE:
	case STROKES:
		break;
	}
	return rv_alarm_restore(alarm, at_ns);
}

/* What each stroke leads to, one letter for each state, written down apart from the code:
 * n normal, u unacknowledged, a acknowledged, r returned, l latched unacknowledged, L latched
 * acknowledged, s shelved, o out of service.  Columns as in enum stroke. */
static const struct {
	const char *label;
	char from;
	bool holds, latch;
	const char *to;
} cells[] = {
    {"normal", 'n', false, false, "unnnnsnon"},
    {"unacknowledged", 'u', true, false, "urauusuou"},
    {"acknowledged", 'a', true, false, "anaausaoa"},
    {"returned", 'r', false, false, "urnrrsror"},
    {"shelved, condition gone", 's', false, false, "ssssssnos"},
    {"shelved, condition there", 's', true, false, "ssssssuos"},
    {"out of service, condition gone", 'o', false, false,
     "ooooooo"
     "on"},
    {"out of service, condition there", 'o', true, false,
     "ooooooo"
     "ou"},
    {"latching: normal", 'n', false, true, "unnnnsnon"},
    {"latching: unacknowledged", 'u', true, true, "ulauusuou"},
    {"latching: acknowledged", 'a', true, true, "aLaausaoa"},
    {"latching: returned", 'r', false, true, "urnrrsror"},
    {"latched unacknowledged", 'l', false, true, "ulLrlslol"},
    {"latched acknowledged", 'L', false, true, "uLLnLsLoL"},
    {"latching: shelved", 's', true, true, "ssssssuos"},
    {"latching: out of service", 'o', false, true,
     "ooooooo"
     "on"},
};

static enum rv_alarm_state state_of(char letter)
{
	static const char letters[] = "nuarlLso";

	return (enum rv_alarm_state)(strchr(letters, letter) - letters);
}

static void every_stroke_leads_where_the_table_says(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++)
		for (int k = 0; k < STROKES; k++) {
			struct rv_alarm alarm = {.latch = cells[i].latch,
						 .state = state_of(cells[i].from),
						 .holds = cells[i].holds,
						 .since_ns = 1};
			bool moved = strike(&alarm, (enum stroke)k, 5 * S);
			enum rv_alarm_state want = state_of(cells[i].to[k]);

			if (alarm.state != want || moved != (want != state_of(cells[i].from)) ||
			    alarm.since_ns != (moved ? 5 * S : 1))
				fail_msg("%s, stroke %d: got %s, want %s", cells[i].label, k,
					 rv_alarm_state_name(alarm.state),
					 rv_alarm_state_name(want));
		}
}

static void a_delay_counts_only_while_the_condition_stands(void **state)
{
	struct rv_alarm alarm = {.delay_s = 2.0, .clear_delay_s = 3.0};

	(void)state;
	assert_false(rv_alarm_see(&alarm, true, 10 * S));
	assert_false(rv_alarm_see(&alarm, true, 12 * S - 1)); /* a billionth short */
	assert_false(rv_alarm_see(&alarm, false, 12 * S));    /* gone: starts anew */
	assert_false(rv_alarm_see(&alarm, true, 13 * S));
	assert_true(rv_alarm_see(&alarm, true, 15 * S)); /* exactly the delay */
	assert_int_equal(alarm.state, RV_ALARM_UNACKNOWLEDGED);
	assert_false(rv_alarm_see(&alarm, false, 20 * S));
	assert_false(rv_alarm_see(&alarm, false, 23 * S - 1));
	assert_false(rv_alarm_see(&alarm, true, 23 * S));
	assert_false(rv_alarm_see(&alarm, false, 24 * S));
	assert_true(rv_alarm_see(&alarm, false, 27 * S));
	assert_int_equal(alarm.state, RV_ALARM_RETURNED_UNACKNOWLEDGED);
}

static void a_delay_not_given_is_none(void **state)
{
	struct rv_alarm alarm = {.delay_s = NAN, .clear_delay_s = NAN};

	(void)state;
	assert_true(rv_alarm_see(&alarm, true, S));
	assert_true(rv_alarm_see(&alarm, false, S));
}

static void nothing_unacknowledged_goes_away_unseen(void **state)
{
	struct rv_alarm alarm = {.latch = false};

	(void)state;
	rv_alarm_see(&alarm, true, S);
	rv_alarm_see(&alarm, false, 2 * S);
	assert_int_equal(alarm.state, RV_ALARM_RETURNED_UNACKNOWLEDGED);
	assert_false(rv_alarm_is_active(&alarm));
	assert_true(rv_alarm_see(&alarm, true, 3 * S)); /* calls again */
	assert_true(rv_alarm_is_active(&alarm));
	rv_alarm_acknowledge(&alarm, 4 * S);
	assert_true(rv_alarm_is_active(&alarm));
	rv_alarm_see(&alarm, false, 5 * S);
	assert_int_equal(alarm.state, RV_ALARM_NORMAL);
}

static void a_condition_that_stands_when_unshelved_calls_again(void **state)
{
	struct rv_alarm alarm = {.latch = true};

	(void)state;
	rv_alarm_shelve(&alarm, S);
	assert_false(rv_alarm_see(&alarm, true, 2 * S));
	assert_true(rv_alarm_unshelve(&alarm, 3 * S));
	assert_int_equal(alarm.state, RV_ALARM_UNACKNOWLEDGED);
	rv_alarm_remove(&alarm, 4 * S);
	assert_false(rv_alarm_see(&alarm, false, 5 * S));
	assert_true(rv_alarm_restore(&alarm, 6 * S));
	assert_int_equal(alarm.state, RV_ALARM_NORMAL);
}

static void states_have_their_names(void **state)
{
	static const char *const names[RV_ALARM_STATES] = {
	    "normal",
	    "unacknowledged",
	    "acknowledged",
	    "returned unacknowledged",
	    "latched unacknowledged",
	    "latched acknowledged",
	    "shelved",
	    "out of service",
	};

	(void)state;
	for (int i = 0; i < RV_ALARM_STATES; i++)
		assert_string_equal(rv_alarm_state_name((enum rv_alarm_state)i), names[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_stroke_leads_where_the_table_says),
	    cmocka_unit_test(a_delay_counts_only_while_the_condition_stands),
	    cmocka_unit_test(a_delay_not_given_is_none),
	    cmocka_unit_test(nothing_unacknowledged_goes_away_unseen),
	    cmocka_unit_test(a_condition_that_stands_when_unshelved_calls_again),
	    cmocka_unit_test(states_have_their_names),
	};

	return cmocka_run_group_tests_name("alarm", tests, NULL, NULL);
}
