/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the gear suits one another, apart from how much it carries; as notes of a plan.
 *
 * Only what the rig file says is judged: a key that is left out gives no note.  Codes:
 *	rope_not_taken	  a block that does not take this kind of line
 *	groove		  the line is thicker or thinner than the groove is made for
 *	sheave_small	  sheave / line diameter below the published minimum
 *	hook_in_block	  a line that ends in a hook, over a block that does not open
 *	legs_spread	  parts of line at a travelling block far from parallel
 *	line_short	  less line than the rig needs
 *	wraps_few	  fewer turns stay on the drum than published
 *
 * Smallest sheave / line diameter: wire 16, ANSI B30.5 and B30.15 for hoisting blocks (read second-hand
 * in a sheave maker's leaflet, which itself advises 20); synthetic 8 for braided rope on a turning
 * sheave (a rope maker's advice, read).  None is published for chain here.  What the bend takes of a
 * wire rope's strength: a hoist maker's table of 2007 (read).
 *
 * Turns that stay on a drum: at least 5 of wire (US Army TM 9-2320-279-10-2, p. 2-660), 8 of
 * low-friction synthetic rope (a rope maker's advice), both read.
 */
#ifndef RV_CORE_SUIT_H
#define RV_CORE_SUIT_H

#include "core/layout.h"
#include "core/plan_result.h"

#define RV_SUIT_WIRE_RATIO 16.0
#define RV_SUIT_SYNTHETIC_RATIO 8.0
#define RV_SUIT_WIRE_WRAPS 5.0
#define RV_SUIT_SYNTHETIC_WRAPS 8.0

/* Parts further apart than this pull with less than 2 cos 15 degrees = 1.93 of twice one part.  Own
 * choice (common practice, no source). */
#define RV_SUIT_SPREAD_DEG 30.0

/* A block that moves slower than this share of the load's speed is no part of the tackle. */
#define RV_SUIT_TRAVELS_RATIO 0.1

/* Share of a wire rope's strength that bending round a sheave takes; interpolated, held beyond the
 * table's ends (6 and 20). */
double rv_suit_bend_loss_ratio(double diameter_ratio);

/* Blocks and lines against one another, at the present pose. */
void rv_suit_gear(const struct rv_layout *layout, struct rv_plan *plan);

/* Lengths; needs line_needed_m and the travel. */
void rv_suit_lengths(struct rv_plan *plan);

#endif
