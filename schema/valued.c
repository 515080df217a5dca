/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/valued.h"

#include <stdio.h>
#include <string.h>

#include "core/calibration_read.h"

static const struct rv_channel *channel_named(const struct rv_session *session, const char *name)
{
	for (int i = 0; i < session->channels.count; i++)
		if (strcmp(session->channels.channel[i].declared.name, name) == 0)
			return &session->channels.channel[i].declared;
	return NULL;
}

static void say_new(const struct rv_session *session, const struct rv_pulls_ask *ask,
		    struct rv_estimate *estimate)
{
	struct rv_text list = {0};

	for (int i = 0; i < ask->recalibrations; i++) {
		const struct rv_channel *channel =
		    channel_named(session, ask->recalibration[i].channel);

		if (channel)
			rv_text_add(&list, "%s%s by %s (%s)", i ? ", " : "", channel->name,
				    channel->calibration.name, channel->calibration.file);
	}
	if (list.data)
		rv_estimate_warn(estimate, "re_evaluated",
				 "re-evaluated with other calibrations than those frozen with the "
				 "run: %.220s",
				 list.data);
	rv_text_free(&list);
}

static void say_past(const struct rv_session *session, int cell, struct rv_estimate *estimate)
{
	char day[11];

	if (cell < 0)
		return;
	const struct rv_channel *channel = &session->channels.channel[cell].declared;
	snprintf(day, sizeof day, "%.10s", session->ended);
	if (rv_calibration_is_past(&channel->calibration, day))
		rv_estimate_warn(estimate, "calibration_past_due",
				 "run %lld was recorded on %s; the calibration %s of %s was due by "
				 "%s",
				 (long long)session->run.number, day, channel->calibration.name,
				 channel->name, channel->calibration.due);
}

void rv_valued_say(const struct rv_session *session, int sessions, const struct rv_pulls_ask *ask,
		   struct rv_estimate *estimate)
{
	say_new(&session[0], ask, estimate);
	for (int i = 0; i < sessions; i++) {
		if (!session[i].predictor)
			continue;
		say_past(&session[i], session[i].setup.near, estimate);
		say_past(&session[i], session[i].setup.far, estimate);
	}
}
