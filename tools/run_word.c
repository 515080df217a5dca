/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/run_word.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "core/json.h"
#include "tools/cmd.h"

/* Where the path ends, or NULL where there is no colon. */
static const char *find_colon(const char *word)
{
	char path[RV_PATH_SIZE];
	const char *last = strrchr(word, ':');

	for (const char *c = strchr(word, ':'); c; c = strchr(c + 1, ':')) {
		if ((size_t)(c - word) >= sizeof path)
			break;
		snprintf(path, sizeof path, "%.*s", (int)(c - word), word);
		if (access(path, F_OK) == 0)
			return c;
	}
	return last;
}

enum rv_err rv_run_word_open(const char *word, struct rv_store **store, int64_t *number,
			     struct rv_error *error)
{
	char path[RV_PATH_SIZE], run[4 * RV_NAME_SIZE];
	struct rv_store *opened = NULL;
	const char *colon = find_colon(word);

	if (!colon || colon == word || colon[1] == '\0')
		return rv_err_set(error, RV_ERR_SYNTAX,
				  "'%.200s' names no run: write RECORD:RUN, such as yard.db:3",
				  word);
	if ((size_t)(colon - word) >= sizeof path || strlen(colon) > sizeof run)
		return rv_err_set(error, RV_ERR_RANGE, "the name of the run is too long");
	snprintf(path, sizeof path, "%.*s", (int)(colon - word), word);
	size_t len = strlen(colon + 1);
	bool quoted = len > 2 && colon[1] == '"' && colon[len] == '"';
	snprintf(run, sizeof run, "%.*s", (int)(quoted ? len - 2 : len), colon + 1 + quoted);
	enum rv_err err = rv_store_open_reader(path, &opened, error);
	if (err == RV_OK)
		err = rv_store_find_run(opened, run, number, error);
	if (err == RV_OK)
		*store = opened;
	else
		rv_store_close(opened);
	return err;
}

void rv_run_word_value(double value, const char *unit, enum rv_force_unit asked,
		       const char *station_unit, char text[RV_RUN_WORD_VALUE])
{
	enum rv_force_unit force = asked;

	if (isnan(value)) {
		snprintf(text, RV_RUN_WORD_VALUE, "-");
	} else if (strcmp(unit, "N") != 0) {
		snprintf(text, RV_RUN_WORD_VALUE, "%.3f %s", value, unit);
	} else {
		if (asked == RV_FORCE_UNITS && rv_units_force_find(station_unit, &force) != RV_OK)
			force = RV_FORCE_KN;
		snprintf(text, RV_RUN_WORD_VALUE, "%.*f %s", rv_units_force_places(force),
			 value / rv_units_force_n(force), rv_units_force_name(force));
	}
}

int rv_run_word_refuse(const char *command, const struct rv_error *error)
{
	fprintf(stderr, "reeve %s: %s\n", command, error->text);
	return error->code == RV_ERR_SYNTAX ? RV_EXIT_USAGE : RV_EXIT_REFUSED;
}

int rv_run_word_print(json_t *json)
{
	struct rv_text text = {0};
	int status = RV_EXIT_DONE;

	rv_json_write(json, &text);
	if (text.failed || fwrite(text.data, 1, text.len, stdout) != text.len ||
	    fputc('\n', stdout) == EOF || fflush(stdout) != 0)
		status = RV_EXIT_REFUSED;
	rv_text_free(&text);
	json_decref(json);
	return status;
}
