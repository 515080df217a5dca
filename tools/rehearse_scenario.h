/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads a scenario file.
 */
#ifndef RV_TOOLS_REHEARSE_SCENARIO_H
#define RV_TOOLS_REHEARSE_SCENARIO_H

#include <stddef.h>

#include "core/err.h"
#include "tools/rehearse_script.h"

/* Fills *scenario from the text of a file.  On failure *scenario is undefined and error names
 * line and column. */
enum rv_err rv_rehearse_scenario_read(const char *text, size_t len,
				      struct rv_rehearse_scenario *scenario,
				      struct rv_error *error);

#endif
