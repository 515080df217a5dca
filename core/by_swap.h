/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two cells, part of the pulls with the two exchanged: the gain cancels because each stood at both
 * places.  With x of each haul as if the gain were known, x = half the sum of the means of the two
 * arrangements.  What paying out costs, and the gain itself, come out besides.
 */
#ifndef RV_CORE_BY_SWAP_H
#define RV_CORE_BY_SWAP_H

#include "core/answer.h"

/* Refuses exchange_incomplete (fewer than two hauls in an arrangement), exchange_not_possible (cells
 * whose capacities differ by more than 2). */
void rv_by_swap(const struct rv_question *question, struct rv_answer *answer);

#endif
