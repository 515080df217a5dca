/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The efficiency hauling in from hauls alone: everything rests on the gain of the two cells, or on a
 * declared weight in the place of the far one.
 */
#ifndef RV_CORE_BY_HAULS_H
#define RV_CORE_BY_HAULS_H

#include "core/answer.h"

/* Two hauls or more, gain stated. */
void rv_by_hauls(const struct rv_question *question, struct rv_answer *answer);

#endif
