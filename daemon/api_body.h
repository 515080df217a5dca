/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads the JSON body of a change strictly: unknown keys, doubled keys and wrong kinds are refused,
 * nothing is replaced by a default.
 */
#ifndef RV_DAEMON_API_BODY_H
#define RV_DAEMON_API_BODY_H

#include <stddef.h>

#include "core/err.h"
#include "core/json.h"

/* The body as an object with no keys but these ("seen" is always allowed); an empty body is an empty
 * object.  A new reference. */
enum rv_err rv_api_body_read(const char *body, size_t len, const char *const *keys, size_t count,
			     json_t **object, struct rv_error *error);

/* A text of at most size - 1 bytes without control letters.  Not there: "" is stored when it is
 * optional, RV_ERR_MISSING otherwise. */
enum rv_err rv_api_body_text(const json_t *object, const char *key, bool optional, size_t size,
			     char *text, struct rv_error *error);

/* A text of any number of lines, as long as the body; borrowed from the object. */
enum rv_err rv_api_body_lines(const json_t *object, const char *key, const char **text,
			      struct rv_error *error);

/* A number; NaN when it is not there. */
enum rv_err rv_api_body_number(const json_t *object, const char *key, double *value,
			       struct rv_error *error);

#endif
