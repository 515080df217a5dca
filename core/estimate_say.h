/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an estimate says besides its numbers: the budget, what is common to all modes, and in words
 * what was estimated and under which assumptions.
 */
#ifndef RV_CORE_ESTIMATE_SAY_H
#define RV_CORE_ESTIMATE_SAY_H

#include "core/answer.h"

/* The sources of the uncertainty of x, brought to the efficiency. */
void rv_estimate_say_budget(const struct rv_value *x, bool by_run, struct rv_estimate *estimate);

/* Warnings that do not depend on the mode: single_load, zero_not_stated, outside_plausible. */
void rv_estimate_say_warnings(const struct rv_estimate_setup *setup, struct rv_estimate *estimate);

/* estimate->estimand. */
void rv_estimate_say_estimand(const struct rv_estimate_setup *setup, struct rv_estimate *estimate);

#endif
