/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the daemon does with a rig while it measures: every load from one cell at each reading, and
 * the geometry anew as line comes in.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/plan.h"
#include "core/predict.h"
#include "tests/bench/bench.h"
#include "tests/bench/bench_rigs.h"

enum { PLACES = 50 };

/* Bare multiplying and adding for as many numbers as an evaluation fills. */
struct bare {
	int count;
	double factor[3 * (RV_COMPONENTS + RV_RIG_LEGS + RV_RIG_CELLS)];
	double offset[3 * (RV_COMPONENTS + RV_RIG_LEGS + RV_RIG_CELLS)];
	double value[3 * (RV_COMPONENTS + RV_RIG_LEGS + RV_RIG_CELLS)];
};

struct watched {
	struct rv_predictor *predictor;
	int cell;      /* the one nearest the winch */
	double load_n; /* what it measures in the plan */
	enum rv_motion motion;
	struct rv_loads loads;
	struct bare bare;
};

static void evaluate(void *ctx, int repeat)
{
	struct watched *w = ctx;
	double load_n = w->load_n * (1.0 + 1e-3 * (repeat % 100));

	if (rv_predictor_loads(w->predictor, w->cell, load_n, w->motion, &w->loads) != RV_OK)
		rv_bench_give_up("evaluate", "refused");
}

static void multiply(void *ctx, int repeat)
{
	struct bare *bare = &((struct watched *)ctx)->bare;
	double load_n = 1000.0 + repeat % 100;

	for (int i = 0; i < bare->count; i++)
		bare->value[i] = bare->factor[i] * load_n + bare->offset[i];
	__asm__ volatile("" : : "r"(bare->value) : "memory"); /* the compiler may not skip it */
}

/* Half a metre of line in, centimetre by centimetre, and out again. */
static void follow(void *ctx, int repeat)
{
	struct watched *w = ctx;
	struct rv_error error;
	int place = repeat % (2 * PLACES);
	double line_in_m = 0.01 * (place < PLACES ? place : 2 * PLACES - place);

	if (rv_predictor_at_payout(w->predictor, line_in_m, w->cell, w->load_n, &error) != RV_OK)
		rv_bench_give_up("follow", error.text);
}

static int nearest_cell(const struct rv_predictor *predictor, int cells)
{
	int nearest = -1, least = 0;

	for (int c = 0; c < cells; c++) {
		int distance = rv_predictor_cell_distance(predictor, c);
		if (distance >= 0 && (nearest < 0 || distance < least)) {
			nearest = c;
			least = distance;
		}
	}
	return nearest;
}

static double planned_n(const struct rv_rig *rig, int cell)
{
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	struct rv_plan *plan = NULL;
	struct rv_error error;

	if (rv_plan_new(rig, &nothing, &plan, &error) != RV_OK)
		rv_bench_give_up(rig->name, error.text);
	double load_n = plan->cell[cell].nominal_n;
	rv_plan_free(plan);
	return load_n;
}

/* NULL: the rig has no cell that tells of a line. */
static struct watched *watch(const struct rv_bench_rig *from, enum rv_motion motion)
{
	const struct rv_rig *rig = &from->rig;
	struct watched *w = calloc(1, sizeof *w);
	struct rv_error error;

	if (!w)
		rv_bench_give_up(from->name, "no memory");
	if (rv_predictor_new(rig, &w->predictor, &error) != RV_OK)
		rv_bench_give_up(from->name, error.text);
	w->cell = nearest_cell(w->predictor, rig->cells);
	if (w->cell < 0) {
		rv_predictor_free(w->predictor);
		free(w);
		return NULL;
	}
	w->motion = motion;
	w->load_n = planned_n(rig, w->cell);
	w->bare.count = 3 * (rv_predictor_components(w->predictor) +
			     rv_predictor_legs(w->predictor) + rig->cells);
	for (int i = 0; i < w->bare.count; i++)
		w->bare.factor[i] = 0.5 + 0.01 * i;
	return w;
}

static void tell_evaluate(struct rv_bench_rig **rigs, int count, int pairs)
{
	static const enum rv_motion motions[] = {RV_MOTION_IN, RV_MOTION_HOLD};
	static const char reference[] = "a * T + b for as many numbers, in one bare loop";
	struct rv_bench_item *items = calloc(2 * (size_t)count, sizeof *items);
	int made = 0;

	if (!items)
		rv_bench_give_up("evaluate", "no memory");
	for (int i = 0; i < 2 * count; i++) {
		struct watched *w = watch(rigs[i / 2], motions[i % 2]);
		if (!w)
			continue;
		snprintf(items[made].name, sizeof items[made].name, "%s, %s, %d components",
			 rigs[i / 2]->name, i % 2 ? "holding" : "hauling in",
			 rv_predictor_components(w->predictor));
		items[made].subject = (struct rv_bench_work){evaluate, w};
		items[made++].reference = (struct rv_bench_work){multiply, w};
	}
	rv_bench_run(items, made, pairs);
	rv_bench_tell_median(
	    &(struct rv_bench_figure){"evaluate, typical rig", "ns", 200.0, reference}, items, made,
	    pairs);
	rv_bench_tell_worst(
	    &(struct rv_bench_figure){"evaluate, worst rig", "ns", 200.0, reference}, items, made,
	    pairs);
	rv_bench_tell_allocations("evaluate, allocations", items, made);
	for (int i = 0; i < made; i++) {
		struct watched *w = items[i].subject.ctx;
		rv_predictor_free(w->predictor);
		free(w);
	}
	free(items);
}

static void tell_follow(struct rv_bench_rig **rigs, int count, int pairs)
{
	struct rv_bench_item *items = calloc((size_t)count, sizeof *items);
	int made = 0;

	if (!items)
		rv_bench_give_up("follow", "no memory");
	for (int i = 0; i < count; i++) {
		struct watched *w = watch(rigs[i], RV_MOTION_IN);
		if (!w)
			continue;
		if (rv_predictor_at_payout(w->predictor, 0.0, w->cell, w->load_n, NULL) != RV_OK) {
			rv_predictor_free(w->predictor); /* more winches or loads than one */
			free(w);
			continue;
		}
		snprintf(items[made].name, sizeof items[made].name, "%s, %d unknowns",
			 rigs[i]->name, rigs[i]->unknowns);
		items[made].subject = (struct rv_bench_work){follow, w};
		items[made++].reference = (struct rv_bench_work){rv_bench_rigs_reference, rigs[i]};
	}
	rv_bench_run(items, made, pairs);
	rv_bench_tell_median(&(struct rv_bench_figure){"re-solve at payout, typical rig", "us",
						       (double)NAN, RV_BENCH_RIGS_REFERENCE},
			     items, made, pairs);
	rv_bench_tell_worst(&(struct rv_bench_figure){"re-solve at payout, worst rig", "us",
						      (double)NAN, RV_BENCH_RIGS_REFERENCE},
			    items, made, pairs);
	rv_bench_tell_allocations("re-solve at payout, allocations", items, made);
	for (int i = 0; i < made; i++) {
		struct watched *w = items[i].subject.ctx;
		rv_predictor_free(w->predictor);
		free(w);
	}
	free(items);
}

int main(int argc, char **argv)
{
	static struct rv_bench_rig *rigs[RV_BENCH_RIGS];
	int pairs = rv_bench_pairs(argc, argv), count = rv_bench_rigs_read(rigs);

	tell_evaluate(rigs, count, pairs);
	tell_follow(rigs, count, pairs);
	return 0;
}
