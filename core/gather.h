/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A list of components under work: adds the terms of its sums.  Terms go to the part begun last.
 */
#ifndef RV_CORE_GATHER_H
#define RV_CORE_GATHER_H

#include "core/parts.h"

struct rv_gather {
	const struct rv_rig *rig;
	const struct rv_reeving *reeving;
	struct rv_component_set *set;
	bool full; /* nothing more is added */
};

/* Begins a part: a sum of vectors, or of plain tensions.  False: the list is full. */
bool rv_gather_part(struct rv_gather *list, bool plain);

void rv_gather_term(struct rv_gather *list, struct rv_component_term term);

/* The pull of a leg on its end a (+1) or b (-1). */
void rv_gather_leg(struct rv_gather *list, int leg, double sign);

/* All forces at a point. */
void rv_gather_point(struct rv_gather *list, int point);

/* Those of the lines that run over a block; of those that end on it, which are counted. */
void rv_gather_sheaves(struct rv_gather *list, int block);
int rv_gather_beckets(struct rv_gather *list, int block);
bool rv_gather_has_becket(const struct rv_reeving *reeving, int block);

/* What a block carries: its sheaves, and as a second part these and what ends on its becket; where
 * it floats on its becket the sum is nothing and the sheaves are what its pin feels.  False: full. */
bool rv_gather_block(struct rv_gather *list, int block);

/* The block rides in a bight and nothing holds it there but what ends on its becket: what holds the
 * block is then what its sheaves pull, and with the becket it would seem to carry nothing. */
bool rv_gather_is_on_becket(const struct rv_gather *list, int block);

/* What is fastened to a floating point, one part for each thing (two for a block with a becket): a
 * block, a line made fast, a rope grab with the line both sides of it, what hangs from it.  Returns
 * how many. */
int rv_gather_fastened(struct rv_gather *list, int point);

#endif
