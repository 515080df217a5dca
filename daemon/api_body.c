/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_body.h"

#include <math.h>
#include <string.h>

static enum rv_err check_keys(json_t *object, const char *const *keys, size_t count,
			      struct rv_error *error)
{
	const char *key = NULL;
	json_t *value = NULL;

	json_object_foreach(object, key, value)
	{
		bool known = strcmp(key, "seen") == 0;
		for (size_t i = 0; i < count && !known; i++)
			known = strcmp(key, keys[i]) == 0;
		if (known)
			continue;
		const char *near = rv_text_nearest(key, keys, count);
		return rv_err_set(error, RV_ERR_UNKNOWN, "unknown key \"%.60s\"%s%s%s", key,
				  near ? ": did you mean \"" : "", near ? near : "",
				  near ? "\"?" : "");
	}
	return RV_OK;
}

enum rv_err rv_api_body_read(const char *body, size_t len, const char *const *keys, size_t count,
			     json_t **object, struct rv_error *error)
{
	json_error_t why;
	json_t *made = len ? json_loadb(body, len, JSON_REJECT_DUPLICATES, &why) : json_object();

	if (!made && !len)
		return rv_err_set(error, RV_ERR_NOMEM, "out of memory");
	if (!made)
		return rv_err_at(error, RV_ERR_SYNTAX, why.line, why.column, "%s", why.text);
	if (!json_is_object(made)) {
		json_decref(made);
		return rv_err_at(error, RV_ERR_SYNTAX, 1, 1, "an object in braces is expected");
	}
	enum rv_err err = check_keys(made, keys, count, error);
	if (err != RV_OK) {
		json_decref(made);
		return err;
	}
	*object = made;
	return RV_OK;
}

static bool has_control(const char *text)
{
	for (; *text; text++)
		if ((unsigned char)*text < 0x20 || *text == 0x7f)
			return true;
	return false;
}

enum rv_err rv_api_body_text(const json_t *object, const char *key, bool optional, size_t size,
			     char *text, struct rv_error *error)
{
	const json_t *value = json_object_get(object, key);
	const char *found = json_string_value(value);

	if (!value || (json_is_null(value) && optional)) {
		if (!optional)
			return rv_err_set(error, RV_ERR_MISSING, "\"%s\" is missing", key);
		text[0] = '\0';
		return RV_OK;
	}
	if (!found || json_string_length(value) != strlen(found) || has_control(found))
		return rv_err_set(error, RV_ERR_SYNTAX,
				  "\"%s\" must be a text in one line, without control letters",
				  key);
	if (strlen(found) >= size || (!optional && !found[0]))
		return rv_err_set(error, RV_ERR_RANGE, "\"%s\" must have %d to %zu bytes", key,
				  optional ? 0 : 1, size - 1);
	memcpy(text, found, strlen(found) + 1);
	return RV_OK;
}

enum rv_err rv_api_body_lines(const json_t *object, const char *key, const char **text,
			      struct rv_error *error)
{
	const json_t *value = json_object_get(object, key);
	const char *found = json_string_value(value);

	if (!found || json_string_length(value) != strlen(found))
		return rv_err_set(error, RV_ERR_SYNTAX, "\"%s\" must be a text", key);
	*text = found;
	return RV_OK;
}

enum rv_err rv_api_body_number(const json_t *object, const char *key, double *value,
			       struct rv_error *error)
{
	const json_t *found = json_object_get(object, key);

	if (found && !json_is_null(found) && !json_is_number(found))
		return rv_err_set(error, RV_ERR_SYNTAX, "\"%s\" must be a number", key);
	*value = json_is_number(found) ? json_number_value(found) : (double)NAN;
	return RV_OK;
}
