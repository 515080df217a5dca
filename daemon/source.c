/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/source.h"

#include <stdio.h>
#include <string.h>

#include "daemon/clock.h"

void rv_source_emit(const struct rv_source *source, const struct rv_intake *intake)
{
	source->emit(source->to, intake);
}

void rv_source_lost(const struct rv_source *source, enum rv_fault fault, int missed,
		    const char *text)
{
	struct rv_intake intake = {
	    .kind = RV_INTAKE_LOST,
	    .device = source->device,
	    .mono_ns = rv_clock_mono_ns(),
	    .fault = fault,
	    .missed = missed,
	};

	snprintf(intake.text, sizeof intake.text, "%s", text ? text : "");
	rv_source_emit(source, &intake);
}

static bool says_something(const struct rv_value *value)
{
	return value->raw.kind != RV_RAW_NONE || value->quality != RV_GOOD;
}

void rv_source_deliver(const struct rv_source *source, int64_t mono_ns,
		       const struct rv_value *values, int count)
{
	bool anything = false;

	for (int i = 0; i < count; i++)
		anything = anything || says_something(&values[i]);
	for (int first = 0; anything && first < count; first += RV_MESSAGE_VALUES) {
		int rest = count - first;
		int used = rest < RV_MESSAGE_VALUES ? rest : RV_MESSAGE_VALUES;
		struct rv_intake intake = {
		    .kind = RV_INTAKE_MESSAGE,
		    .device = source->device,
		    .mono_ns = mono_ns,
		    .message = {.mono_ns = mono_ns,
				.device = (uint8_t)source->device,
				.part = (uint8_t)(first / RV_MESSAGE_VALUES),
				.count = (uint8_t)used},
		};
		memcpy(intake.message.values, values + first, (size_t)used * sizeof *values);
		rv_source_emit(source, &intake);
	}
}
