/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How far to stay away from a rig under load: the largest of three published rules, all read in
 * reprints of the manuals:
 *  - twice the line paid out (US Army FM 9-43-2 family, as reprinted by a recovery safety site);
 *  - the distance between the two most distant points of the rigging, and outside the angle the
 *    line forms (US Army FM 21-305, chapter 22, reprinted there);
 *  - no closer than the longest line in use (US Army TM 9-2320-356-BD, p. 4-4, warning).
 * Line paid out is what lies between the ends of a line and on its sheaves; line on a drum is not.
 *
 * A parted block or anchor flies into the inside of the angle its line forms, the bight.
 */
#ifndef RV_CORE_CLEAR_H
#define RV_CORE_CLEAR_H

#include "core/layout.h"
#include "core/plan_result.h"

/* Legs closer together than this form no angle to speak of; a tackle's parts.  Own choice (common
 * practice, no source). */
#define RV_CLEAR_BIGHT_DEG 10.0

/* What the rules say at the present pose; needs line_out_m.  Note: bight. */
void rv_clear_set(const struct rv_layout *layout, struct rv_plan *plan);

/* Which rule says most, line that the travel pays out included.  Note: keep_clear. */
void rv_clear_choose(struct rv_plan *plan);

/* The rule that says it, in words. */
const char *rv_clear_rule(enum rv_clear_rule rule);

#endif
