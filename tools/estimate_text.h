/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An estimate for people: the answer in a sentence, what it holds for, the pulls, the budget.
 */
#ifndef RV_TOOLS_ESTIMATE_TEXT_H
#define RV_TOOLS_ESTIMATE_TEXT_H

#include "core/estimate_json.h"
#include "core/units.h"

/* To stdout; a refusal's reason goes to stderr too.  Returns the exit status. */
int rv_estimate_text_print(const struct rv_estimate_setup *setup,
			   const struct rv_estimate *estimate,
			   const struct rv_estimate_told *told, enum rv_force_unit unit);

/* Prints the reason of a refusal on stderr; RV_EXIT_REFUSED, or RV_EXIT_DONE when there is none. */
int rv_estimate_text_refusal(const struct rv_estimate *estimate);

#endif
