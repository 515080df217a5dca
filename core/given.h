/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The forces a rig is reckoned from.  Exactly as many are needed as there are winches: the pull of a
 * winch, what a load holds against its travel, or what a cell measures.
 */
#ifndef RV_CORE_GIVEN_H
#define RV_CORE_GIVEN_H

#include "core/rig.h"

enum rv_given_kind { RV_GIVEN_LINE_PULL, RV_GIVEN_RESISTS, RV_GIVEN_CELL };

struct rv_given {
	enum rv_given_kind kind;
	int index; /* of the winch, load or cell */
	struct rv_range force_n;
};

enum { RV_GIVENS = 16 };

struct rv_givens {
	int count;
	struct rv_given given[RV_GIVENS];
};

/* Adds one.  RV_ERR_RANGE: not above zero, or too many; RV_ERR_REFUSED, tag forces_extra: the same
 * thing twice. */
enum rv_err rv_given_add(const struct rv_rig *rig, struct rv_givens *givens, struct rv_given given,
			 struct rv_error *error);

/* What to reckon from: the forces asked for where they are enough; with fewer, those of the rig file
 * as well, each asked force replacing the rig's own of the same thing.  In a rig with one winch any
 * asked force replaces what the file gives.  RV_ERR_REFUSED, tags: forces_missing, forces_extra,
 * load_not_pulled (a load that runs by itself). */
enum rv_err rv_given_choose(const struct rv_rig *rig, const struct rv_givens *asked,
			    struct rv_givens *chosen, struct rv_error *error);

/* Name of the winch, load or cell. */
const char *rv_given_name(const struct rv_rig *rig, const struct rv_given *given);

#endif
