/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What `reeve plan` says in all its forms: JSON on stdout, refusals on stderr.
 */
#ifndef RV_TOOLS_PLAN_SAY_H
#define RV_TOOLS_PLAN_SAY_H

#include <jansson.h>

#include "core/err.h"

/* Prints and releases it. */
void rv_plan_say_json(json_t *value);

/* "reeve plan: FILE:line:column: code: text"; with json the same as an object on stdout.  Returns
 * RV_EXIT_REFUSED. */
int rv_plan_say_refused(const char *file, const struct rv_error *error, bool json);

/* "reeve plan: --OPTION: text; see: ...".  Returns RV_EXIT_USAGE. */
int rv_plan_say_misused(const char *option, const char *text);

#endif
