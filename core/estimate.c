/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/estimate.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *rv_estimate_source_name(enum rv_estimate_source source)
{
	switch (source) {
	case RV_ESTIMATE_BY_PAYOUT:
		return "payout";
	case RV_ESTIMATE_BY_TURNS:
		return "turns";
	case RV_ESTIMATE_BY_SWITCH:
		return "switch";
	case RV_ESTIMATE_BY_MARKS:
		return "marks";
	case RV_ESTIMATE_BY_TENSIONS:
		return "tensions";
	case RV_ESTIMATE_BY_SHEET:
		break;
	}
	return NULL;
}

const char *rv_estimate_mode_name(enum rv_estimate_mode mode)
{
	switch (mode) {
	case RV_ESTIMATE_CYCLES:
		return "cycles";
	case RV_ESTIMATE_HAULS:
		return "hauls";
	case RV_ESTIMATE_SWAPPED:
		return "swapped";
	case RV_ESTIMATE_JOINT:
		return "joint";
	case RV_ESTIMATE_HUNG:
		return "one cell hung";
	case RV_ESTIMATE_MOVED:
		return "one cell moved";
	case RV_ESTIMATE_NONE:
		break;
	}
	return NULL;
}

const char *rv_estimate_unit_name(enum rv_estimate_unit_kind kind)
{
	static const char *const names[] = {"pull", "cycle", "stint", "run"};
	return names[kind];
}

void rv_estimate_setup_init(struct rv_estimate_setup *setup)
{
	*setup = (struct rv_estimate_setup){
	    .declared_low_ratio = NAN,
	    .declared_high_ratio = NAN,
	    .weight_n = NAN,
	    .u_weight_n = NAN,
	    .speed_known = true,
	    .excess_low_ratio = 0,
	    .excess_high_ratio = 0.20,
	    .correlation = NAN,
	    .u_gain_ratio = NAN,
	    .u_remount_ratio = 0.0005,
	    .u_lag_s = 0.010,
	    .session_log = NAN,
	};
}

void rv_estimate_init(struct rv_estimate *estimate)
{
	const struct rv_estimate_interval none = {NAN, NAN, NAN, NAN};
	*estimate = (struct rv_estimate){
	    .sheaves_effective = NAN,
	    .efficiency = none,
	    .relative_gain = none,
	    .in = none,
	    .out = none,
	    .mean = none,
	    .excess = none,
	    .with_struck = none,
	    .another_day = none,
	    .drift_ph = NAN,
	    .drift_low_ph = NAN,
	    .drift_high_ph = NAN,
	    .neighbours = NAN,
	    .load_friction = NAN,
	    .load_friction_low = NAN,
	    .load_friction_high = NAN,
	    .loss = {.constant_n = NAN, .low_n = NAN, .high_n = NAN},
	};
}

void rv_estimate_refuse(struct rv_estimate *estimate, const char *code, const char *cure,
			const char *format, ...)
{
	estimate->efficiency = (struct rv_estimate_interval){NAN, NAN, NAN, NAN};
	if (estimate->refused)
		return;
	estimate->refused = true;
	snprintf(estimate->refusal.code, sizeof estimate->refusal.code, "%s", code);
	snprintf(estimate->refusal.cure, sizeof estimate->refusal.cure, "%s", cure);
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(estimate->refusal.text, sizeof estimate->refusal.text, format, arguments);
	va_end(arguments);
}

bool rv_estimate_has_warning(const struct rv_estimate *estimate, const char *code)
{
	for (int i = 0; i < estimate->warnings; i++)
		if (strcmp(estimate->warning[i].code, code) == 0)
			return true;
	return false;
}

void rv_estimate_warn(struct rv_estimate *estimate, const char *code, const char *format, ...)
{
	if (estimate->warnings == RV_ESTIMATE_WARNINGS || rv_estimate_has_warning(estimate, code))
		return;
	struct rv_estimate_note *note = &estimate->warning[estimate->warnings++];
	snprintf(note->code, sizeof note->code, "%s", code);
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(note->text, sizeof note->text, format, arguments);
	va_end(arguments);
}

void rv_estimate_budget(struct rv_estimate *estimate, const char *source, char kind, double u_ratio,
			double dof)
{
	if (estimate->sources == RV_ESTIMATE_SOURCES || !(u_ratio > 0))
		return;
	estimate->source[estimate->sources++] =
	    (struct rv_estimate_source_entry){source, kind, u_ratio, dof};
}
