/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station of one channel and one alarm rule, for the tests of the conditions.
 */
#ifndef RV_TESTS_UNIT_ONE_RULE_H
#define RV_TESTS_UNIT_ONE_RULE_H

#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/conditions.h"

#define MS INT64_C(1000000)

/* One tension channel and one rule on it; the caller frees. */
static inline struct rv_station *station_with(enum rv_alarm_condition condition, double limit,
					      double deadband)
{
	struct rv_station *station = calloc(1, sizeof *station);

	assert_non_null(station);
	station->unit = RV_FORCE_KN;
	station->channels = 1;
	station->alarms = 1;
	strcpy(station->channel[0].name, "lead");
	strcpy(station->channel[0].unit, "N");
	station->alarm[0] = (struct rv_alarm_rule){
	    .channel = 0, .condition = condition, .limit = limit, .deadband = deadband};
	return station;
}

static inline struct rv_reading good(double value)
{
	return (struct rv_reading){.value = value, .raw = value};
}

#endif
