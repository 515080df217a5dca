/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/grid.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define NS_PER_S 1e9
#define GAP_SPACINGS 3.0
#define GAP_LEAST_S 0.1
#define GAP_MOST_S 1.0

void rv_grid_init(struct rv_grid *grid, double delay_s, double offset)
{
	memset(grid, 0, sizeof *grid);
	grid->delay_s = isnan(delay_s) ? 0.0 : delay_s;
	grid->offset = isnan(offset) ? 0.0 : offset;
	grid->last = (double)NAN;
}

/* One value joins the grid: the points since the value before it are known now. */
static void join(struct rv_grid *grid, double value, int64_t at_ns)
{
	int64_t was_ns = grid->last_ns;
	double was = grid->last;
	double dt_s = (double)(at_ns - was_ns) / NS_PER_S;
	int64_t last = at_ns / RV_GRID_STEP_NS;

	if (was_ns == 0 || last - grid->next >= RV_GRID_POINTS)
		grid->next = last + 1 - RV_GRID_POINTS;
	double gap_s = fmin(fmax(GAP_SPACINGS * grid->spacing_s, GAP_LEAST_S), GAP_MOST_S);
	bool joined = was_ns != 0 && (grid->spacing_s <= 0.0 || dt_s <= gap_s);
	for (int64_t k = grid->next; k <= last; k++) {
		double share = (double)(k * RV_GRID_STEP_NS - was_ns) / (double)(at_ns - was_ns);

		grid->at[k % RV_GRID_POINTS] = joined && k * RV_GRID_STEP_NS >= was_ns
						   ? was + share * (value - was)
						   : (double)NAN;
	}
	grid->next = last + 1;
	if (was_ns != 0 && dt_s <= GAP_MOST_S)
		grid->spacing_s = grid->spacing_s <= 0.0
				      ? dt_s
				      : grid->spacing_s + 0.1 * (dt_s - grid->spacing_s);
	grid->last = value;
	grid->last_ns = at_ns;
}

static void begin_step(struct rv_grid *grid, double value, int64_t at_ns)
{
	grid->step = at_ns / RV_GRID_STEP_NS;
	grid->step_first_ns = at_ns;
	grid->step_ns = 0;
	grid->step_sum = value;
	grid->in_step = 1;
}

void rv_grid_see(struct rv_grid *grid, double value, int64_t mono_ns)
{
	int64_t at_ns = mono_ns - (int64_t)(grid->delay_s * NS_PER_S);

	if (grid->seen_ns != 0 && at_ns <= grid->seen_ns)
		return;
	grid->seen_ns = at_ns;
	if (grid->in_step > 0 && at_ns / RV_GRID_STEP_NS == grid->step) {
		grid->step_sum += value - grid->offset;
		grid->step_ns += at_ns - grid->step_first_ns;
		grid->in_step++;
		return;
	}
	if (grid->in_step > 0)
		join(grid, grid->step_sum / grid->in_step,
		     grid->step_first_ns + grid->step_ns / grid->in_step);
	begin_step(grid, value - grid->offset, at_ns);
}

double rv_grid_at(const struct rv_grid *grid, int64_t k)
{
	if (k < 0 || k >= grid->next || k < grid->next - RV_GRID_POINTS)
		return NAN;
	return grid->at[k % RV_GRID_POINTS];
}

double rv_grid_mean(const struct rv_grid *grid, int64_t k, int half)
{
	double sum = 0.0;

	for (int64_t i = k - half; i <= k + half; i++)
		sum += rv_grid_at(grid, i);
	return sum / (2 * half + 1);
}
