/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The loads of all components, legs and cells from one cell's, over the friction of one motion.
 */
#ifndef RV_CORE_EVALUATE_H
#define RV_CORE_EVALUATE_H

#include "core/flow.h"

/* A load over the declared efficiency ranges: low <= nominal <= high. */
struct rv_span {
	double low_n, nominal_n, high_n;
};

struct rv_loads {
	struct rv_span component[RV_COMPONENTS];
	struct rv_span leg[RV_RIG_LEGS];
	struct rv_span cell[RV_RIG_CELLS];
};

/* At any load; as many sums as the flow has corners.  The cell must tell something (core/cell). */
void rv_evaluate_loads(const struct rv_layout *layout, const struct rv_flow *flow, int cell,
		       double load_n, struct rv_loads *loads);

/* From the loads for one newton, where all grow in proportion. */
void rv_evaluate_scale(const struct rv_layout *layout, const struct rv_loads *per_newton,
		       double load_n, struct rv_loads *loads);

#endif
