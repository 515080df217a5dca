/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Second pass over a rig file: the paths of the lines.
 *
 * In the middle of a path a block is run over and a point is made fast (rope grab); at an end a
 * block means its becket and a point means made fast; a winch can only be an end; "tail" is a
 * loose end.  Each time paths name a block in the middle, its next sheave is used.
 */
#ifndef RV_CORE_RIG_PATH_H
#define RV_CORE_RIG_PATH_H

#include "core/rig_part.h"

/* Fills the paths; everything must be placed.  Refused by tag: path_short, tail_inside, tail_loose,
 * winch_inside, winch_both, winch_twice, winch_unused, sheaves_spent, leg_zero, block_unused,
 * load_untied, float_untied, name_unknown. */
enum rv_err rv_rig_path_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			    struct rv_error *error);

#endif
