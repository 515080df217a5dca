/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why a rig cannot be solved, with the culprit's name and place.
 */
#ifndef RV_CORE_FULL_CHECK_H
#define RV_CORE_FULL_CHECK_H

#include "core/equations.h"
#include "core/full_step.h"

/* What can be said before solving: winch_idle, travel_missing, travel_zero, travel_blocked,
 * split_unknown, speeds_unknown. */
enum rv_err rv_full_check_before(const struct rv_layout *layout, struct rv_error *error);

/* After it: winch_idle, load_not_pulled. */
enum rv_err rv_full_check_after(const struct rv_layout *layout, struct rv_error *error);

/* Never RV_OK.  pushing: the leg that would have to push; loose: a piece that carries nothing in
 * the shape without friction; or -1.  s->linear is overwritten. */
enum rv_err rv_full_check_refuse(const struct rv_solving *s, enum rv_full_step end, int pushing,
				 int loose, struct rv_error *error);

/* turns_undecided. */
enum rv_err rv_full_check_undecided(const struct rv_layout *layout, struct rv_error *error);

#endif
