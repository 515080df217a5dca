/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_outputs.h"

#include <stdio.h>

#include "daemon/engine_alarms.h"
#include "daemon/output.h"

static bool is_unseen(const struct rv_engine_alarm *alarm)
{
	return alarm->alarm.state == RV_ALARM_UNACKNOWLEDGED ||
	       alarm->alarm.state == RV_ALARM_RETURNED_UNACKNOWLEDGED ||
	       alarm->alarm.state == RV_ALARM_LATCHED_UNACKNOWLEDGED;
}

static bool is_wanted(const struct rv_engine *engine, const struct rv_output *output)
{
	for (int i = 0; i < RV_ENGINE_ALARMS; i++) {
		const struct rv_engine_alarm *alarm = &engine->alarm[i];
		if (!alarm->is_listed || alarm->level < output->when)
			continue;
		if (output->kind == RV_OUTPUT_SOUND ? is_unseen(alarm)
						    : rv_engine_alarms_counts(alarm))
			return true;
	}
	return false;
}

void rv_engine_outputs_drive(struct rv_engine *engine)
{
	for (int i = 0; i < engine->station->outputs; i++)
		rv_output_drive(engine->outputs, i, is_wanted(engine, &engine->station->output[i]));
}

void rv_engine_outputs_tell(void *intake_ring, int output, bool failed, const char *text)
{
	struct rv_intake intake = {
	    .kind = failed ? RV_INTAKE_OUTPUT_FAILED : RV_INTAKE_OUTPUT_WORKS,
	    .device = output,
	    .mono_ns = rv_clock_mono_ns(),
	};

	snprintf(intake.text, sizeof intake.text, "%s", text ? text : "");
	if (rv_ring_put(intake_ring, &intake) != RV_OK)
		rv_log(RV_LOG_ERROR, "device", "output %d: %s", output, intake.text);
}

void rv_engine_outputs_take(struct rv_engine *engine, const struct rv_intake *intake)
{
	bool failed = intake->kind == RV_INTAKE_OUTPUT_FAILED;

	rv_log(failed ? RV_LOG_ERROR : RV_LOG_NOTICE, "device", "output %s: %s",
	       engine->station->output[intake->device].name, failed ? intake->text : "works");
	rv_guards_output(&engine->guards, intake->device, failed, intake->text);
	rv_engine_alarms_guards(engine, intake->mono_ns);
}
