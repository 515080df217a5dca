/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The efficiency hauling in from cycles, with a loss paying out that may be greater by an unknown
 * excess within declared bounds, and with the calibrated gain of the two cells where it is stated.
 *
 * A cycle's difference L_in - L_out is free of the gain, and by an excess d of the loss paying out
 * tells x1 of in(x) - out((1 + d) x); the middle of the bounds is used and half of what the bounds do
 * is a bias that is not passed.  L_in alone with the calibrated gain tells x2.  They are
 * weighted as the design says, never the values: the weight that makes the interval smallest for
 * a scatter of the log ratio of 0.009.  Cycles that contradict the calibration beyond the bounds are
 * refused (gain_asymmetry_conflict).
 */
#ifndef RV_CORE_BY_CYCLES_H
#define RV_CORE_BY_CYCLES_H

#include "core/answer.h"

/* Three cycles or more, but where the runs are the units.  Refuses in the estimate. */
void rv_by_cycles(const struct rv_question *question, struct rv_answer *answer);

#endif
