/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a test was designed to tell: its mode, and whether the rig and the places of the cells let it.
 * Looks at what was pulled and declared, never at what was measured.
 */
#ifndef RV_CORE_ESTIMATE_DESIGN_H
#define RV_CORE_ESTIMATE_DESIGN_H

#include "core/chosen.h"

/* ln of an efficiency at which a rig is looked at before its own is known: 0.96. */
#define RV_ESTIMATE_DESIGN_X (-0.04)

/* chosen: one for each run.  RV_ESTIMATE_NONE: refused, with one of one_cell_no_design,
 * speed_not_declared, load_not_free, too_few_pulls, slack, no_two_states, no_gain_calibration. */
enum rv_estimate_mode rv_estimate_design_mode(const struct rv_estimate_setup *setup,
					      const struct rv_chosen *chosen,
					      struct rv_estimate *estimate);

/* Sets sheaves_effective.  False: refused, rig_not_covered or insensitive_placement. */
bool rv_estimate_design_tells(const struct rv_estimate_setup *setup, struct rv_estimate *estimate);

#endif
