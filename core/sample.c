/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/sample.h"

#include <math.h>
#include <string.h>

const char *rv_sample_quality_name(enum rv_quality quality)
{
	static const char *const names[] = {"good", "uncertain", "bad"};

	return names[quality];
}

const char *rv_sample_cause_name(enum rv_cause cause)
{
	static const char *const names[RV_CAUSES] = {
	    [RV_CAUSE_NONE] = "",
	    [RV_CAUSE_NO_COMMUNICATION] = "no communication",
	    [RV_CAUSE_FROZEN] = "frozen",
	    [RV_CAUSE_STATUS] = "status",
	    [RV_CAUSE_UNIT] = "unit",
	    [RV_CAUSE_NOT_A_NUMBER] = "not a number",
	    [RV_CAUSE_OUT_OF_RANGE] = "out of range",
	    [RV_CAUSE_JUMP] = "jump",
	    [RV_CAUSE_STALE] = "stale",
	};

	return names[cause];
}

double rv_sample_number(struct rv_raw raw)
{
	switch (raw.kind) {
	case RV_RAW_INT:
		return (double)raw.count;
	case RV_RAW_REAL:
		return raw.real;
	case RV_RAW_NONE:
		break;
	}
	return (double)NAN;
}

bool rv_sample_is_same(double a, double b)
{
	uint64_t x, y;

	memcpy(&x, &a, sizeof x);
	memcpy(&y, &b, sizeof y);
	return x == y;
}
