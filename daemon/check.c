/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/describe.h"
#include "core/json.h"
#include "core/plan_json.h"
#include "core/utc.h"
#include "daemon/clock.h"
#include "daemon/log.h"
#include "daemon/probe.h"

static void print_json(json_t *value)
{
	struct rv_text text = {0};

	rv_json_write(value, &text);
	printf("%s\n", text.data ? text.data : "");
	rv_text_free(&text);
	json_decref(value);
}

/* Each line of a text as one string. */
static json_t *lines(const char *text)
{
	json_t *list = json_array();

	while (text && *text) {
		size_t len = strcspn(text, "\n");

		json_array_append_new(list, json_stringn(text, len));
		text += len + (text[len] == '\n');
	}
	return list;
}

static json_t *refusal(const char *file, const struct rv_error *error)
{
	json_t *object = rv_plan_json_refused(error);

	json_object_set_new(json_object_get(object, "refused"), "file", rv_json_text(file));
	return object;
}

void rv_check_refuse(const struct rv_check *asked, const char *file, const struct rv_error *error)
{
	rv_log_error("config", file, error);
	if (asked->json)
		print_json(refusal(file, error));
}

static void describe(const struct rv_config *config, struct rv_text *text)
{
	char today[RV_UTC_SIZE];

	rv_utc_text(rv_clock_utc_us(), today);
	today[strlen("2026-01-01")] = '\0';
	rv_describe_station(&config->station, config->rig ? &config->rig->rig : NULL, today, text);
	if (config->rig && !config->rig->predictor)
		rv_text_add(text, "The rig cannot be solved, so nothing is predicted: %s\n",
			    config->rig->why);
}

/* Solved once more, for the code and the place. */
static bool is_solved(const struct rv_config *config, struct rv_error *error)
{
	struct rv_predictor *predictor = NULL;
	bool solved =
	    !config->rig || rv_predictor_new(&config->rig->rig, &predictor, error) == RV_OK;

	rv_predictor_free(predictor);
	return solved;
}

static bool probe_into(const struct rv_station *station, json_t **list)
{
	char *text = NULL;
	size_t len = 0;
	FILE *stream = open_memstream(&text, &len);

	if (!stream)
		return false;
	bool good = rv_probe_run(station, stream);
	(void)fclose(stream);
	*list = lines(text);
	free(text);
	return good;
}

static bool refuse_probe(struct rv_error *error)
{
	(void)rv_err_refuse(error, "no_reading", "not every channel gave a good reading");
	rv_log_error("device", NULL, error);
	return false;
}

bool rv_check_run(const struct rv_check *asked, const struct rv_config *config)
{
	struct rv_error error = {0};
	struct rv_text text = {0};
	json_t *probed = NULL;
	bool good = is_solved(config, &error);

	if (!good)
		rv_log_error("config", config->rig_path, &error);
	describe(config, &text);
	if (!asked->json) {
		fwrite(text.data, 1, text.len, stdout);
		fflush(stdout);
		if (asked->probe && !rv_probe_run(&config->station, stdout))
			good = refuse_probe(&error);
		rv_text_free(&text);
		return good;
	}
	json_t *object = good ? NULL : refusal(config->rig_path, &error);
	if (asked->probe && !probe_into(&config->station, &probed)) {
		good = refuse_probe(&error);
		object = object ? object : refusal(NULL, &error);
	}
	if (!object)
		object = json_pack("{s:n}", "refused");
	json_object_set_new(object, "found", lines(text.data));
	json_object_set_new(object, "probe", probed ? probed : json_null());
	print_json(object);
	rv_text_free(&text);
	return good;
}
