/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long a whole solve of a rig takes from its declared positions: places of floating points,
 * direction of friction, every tension.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/bench/bench.h"
#include "tests/bench/bench_rigs.h"

/* Nothing warm: no turns known, no pose solved near by. */
static void solve(void *ctx, int repeat)
{
	struct rv_bench_rig *rig = ctx;
	struct rv_balance balance;
	struct rv_error error;

	(void)repeat;
	rig->layout.pose = rig->declared;
	rv_solver_forget(&rig->solver);
	if (rv_solver_settle(&rig->solver, rig->rig.haul_out ? -1 : 1, &balance, &error) != RV_OK)
		rv_bench_give_up(rig->name, error.text);
}

/* The rigs whose floating points must be found; the others need no matrix. */
static void tell_floating(struct rv_bench_rig **rigs, const struct rv_bench_item *items, int count,
			  int pairs)
{
	struct rv_bench_item *floating = calloc((size_t)count, sizeof *floating);
	int found = 0;

	if (!floating)
		rv_bench_give_up("solver", "no memory");
	for (int i = 0; i < count; i++)
		if (rigs[i]->solver.full)
			floating[found++] = items[i];
	rv_bench_tell_median(&(struct rv_bench_figure){"solve, typical floating rig", "us",
						       (double)NAN, RV_BENCH_RIGS_REFERENCE},
			     floating, found, pairs);
	free(floating);
}

int main(int argc, char **argv)
{
	static struct rv_bench_rig *rigs[RV_BENCH_RIGS];
	int pairs = rv_bench_pairs(argc, argv), count = rv_bench_rigs_read(rigs);
	struct rv_bench_item *items = calloc((size_t)count, sizeof *items);

	if (!items)
		rv_bench_give_up("solver", "no memory");
	for (int i = 0; i < count; i++) {
		snprintf(items[i].name, sizeof items[i].name, "%s, %d unknowns", rigs[i]->name,
			 rigs[i]->unknowns);
		items[i].subject = (struct rv_bench_work){solve, rigs[i]};
		items[i].reference = (struct rv_bench_work){rv_bench_rigs_reference, rigs[i]};
	}
	rv_bench_run(items, count, pairs);
	rv_bench_tell_median(
	    &(struct rv_bench_figure){"solve, typical rig", "us", 15.0, RV_BENCH_RIGS_REFERENCE},
	    items, count, pairs);
	tell_floating(rigs, items, count, pairs);
	rv_bench_tell_worst(
	    &(struct rv_bench_figure){"solve, worst rig", "us", 300.0, RV_BENCH_RIGS_REFERENCE},
	    items, count, pairs);
	rv_bench_tell_allocations("solve, allocations", items, count);
	free(items);
	return 0;
}
