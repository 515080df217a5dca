/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lines of a text instrument, after the template in the scenario:
 *	{NAME}			a whole number
 *	{NAME:8.1}		8 wide, 1 place; {NAME:+8.1} with its sign always
 *	{NAME:unit}		the unit of that field
 * and everything else as it stands.
 */
#ifndef RV_TOOLS_REHEARSE_LINE_H
#define RV_TOOLS_REHEARSE_LINE_H

#include "core/err.h"
#include "tools/rehearse_script.h"

enum { RV_REHEARSE_LINE = 256 };

/* Writes the line for the numbers shown now (one for each field).  other_unit: the unit the
 * instrument shows instead of the declared one, or NULL.  RV_ERR_UNKNOWN names a field or form
 * that is not there. */
enum rv_err rv_rehearse_line_compose(const struct rv_rehearse_instrument *instrument,
				     const double *shown, const char *other_unit,
				     char line[RV_REHEARSE_LINE], struct rv_error *error);

#endif
