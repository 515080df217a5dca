/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The notes of a plan as people read them: first how far to stay away, then the cautions, then which
 * convention the losses follow; lines broken between words.
 */
#ifndef RV_TOOLS_PLAN_NOTES_H
#define RV_TOOLS_PLAN_NOTES_H

#include <stdio.h>

#include "core/plan_result.h"

void rv_plan_notes_print(const struct rv_plan *plan, FILE *to);

/* One text behind a head, broken to the width of a terminal, later lines indented so far. */
void rv_plan_notes_wrap(const char *head, const char *text, int indent, FILE *to);

#endif
