/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/evaluate.h"

#include <math.h>

#include "core/force.h"

static void widen(struct rv_span *span, double value_n, bool nominal)
{
	if (nominal) {
		*span = (struct rv_span){value_n, value_n, value_n};
		return;
	}
	span->low_n = fmin(span->low_n, value_n);
	span->high_n = fmax(span->high_n, value_n);
}

static void take(const struct rv_layout *layout, const struct rv_pose *pose,
		 const double *tension_n, bool nominal, struct rv_loads *loads)
{
	for (int i = 0; i < layout->set.components; i++)
		widen(&loads->component[i], rv_force_on(&layout->set, pose, i, tension_n), nominal);
	for (int l = 0; l < layout->reeving.legs; l++)
		widen(&loads->leg[l], tension_n[l], nominal);
	for (int c = 0; c < layout->rig.cells; c++)
		widen(&loads->cell[c], rv_force_at_cell(&layout->set, pose, c, tension_n), nominal);
}

static void centre(struct rv_span *span, int count)
{
	for (int i = 0; i < count; i++)
		span[i].nominal_n = 0.5 * (span[i].low_n + span[i].high_n);
}

void rv_evaluate_loads(const struct rv_layout *layout, const struct rv_flow *flow, int cell,
		       double load_n, struct rv_loads *loads)
{
	double tension_n[RV_RIG_LEGS];

	rv_flow_spread(layout, &flow->nominal, cell, load_n, tension_n);
	take(layout, &flow->nominal.pose, tension_n, true, loads);
	for (int i = 0; i < flow->corners; i++) {
		rv_flow_spread(layout, &flow->corner[i], cell, load_n, tension_n);
		take(layout, &flow->corner[i].pose, tension_n, false, loads);
	}
	if (flow->sense == 0) {
		centre(loads->component, layout->set.components);
		centre(loads->leg, layout->reeving.legs);
		centre(loads->cell, layout->rig.cells);
	}
}

static void scale(const struct rv_span *from, double factor, int count, struct rv_span *to)
{
	for (int i = 0; i < count; i++)
		to[i] = (struct rv_span){factor * from[i].low_n, factor * from[i].nominal_n,
					 factor * from[i].high_n};
}

void rv_evaluate_scale(const struct rv_layout *layout, const struct rv_loads *per_newton,
		       double load_n, struct rv_loads *loads)
{
	double factor = fmax(0.0, load_n);

	scale(per_newton->component, factor, layout->set.components, loads->component);
	scale(per_newton->leg, factor, layout->reeving.legs, loads->leg);
	scale(per_newton->cell, factor, layout->rig.cells, loads->cell);
}
