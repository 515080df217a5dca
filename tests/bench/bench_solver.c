/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long the rig solver takes and what memory it asks for: one JSON line for each figure.  Not a
 * test: a busy machine makes it slower, not wrong.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/predict.h"
#include "core/solver.h"
#include "tests/unit/rig_cases.h"

enum { ROUNDS = 2001, RIGS = 12 };

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);

static long asked; /* for memory, whoever asks */

void *malloc(size_t size)
{
	asked++;
	return __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
	asked++;
	return __libc_calloc(count, size);
}

void *realloc(void *old, size_t size)
{
	asked++;
	return __libc_realloc(old, size);
}

static double now_us(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

static const struct {
	const char *label, *text;
} rigs[RIGS] = {
    {"redirect", RIG_REDIRECT},
    {"two parts", RIG_TWO_PARTS},
    {"three parts", RIG_THREE_PARTS},
    {"four parts in space", RIG_FOUR_PARTS},
    {"five parts", RIG_FIVE_PARTS},
    {"lower over a bar", RIG_LOWER},
    {"self recovery", RIG_SELF},
    {"piggyback", RIG_PIGGYBACK},
    {"burton 3", RIG_BURTON_3},
    {"burton 4", RIG_BURTON_4},
    {"gully", RIG_GULLY},
    {"equalised sling", RIG_SLING},
};

static struct rv_rig rig;
static struct rv_layout layout;
static double took_us[ROUNDS], median_us[RIGS];

/* A whole solve from the declared positions: no turns known, nothing warm. */
static void solve_cold(struct rv_solver *solver, const struct rv_pose *declared)
{
	struct rv_balance balance;

	layout.pose = *declared;
	if (solver->full)
		solver->full->is_warm = false;
	if (rv_solver_settle(solver, rig.haul_out ? -1 : 1, &balance, NULL) != RV_OK)
		exit(1);
}

static void solve(int i)
{
	struct rv_givens none = {0}, givens;
	struct rv_solver solver;
	struct rv_error error;

	rig_case_read(rigs[i].text, &rig);
	if (rv_layout_make(&rig, &layout, &error) != RV_OK ||
	    rv_given_choose(&rig, &none, &givens, &error) != RV_OK ||
	    rv_solver_open(&layout, &givens, &solver, &error) != RV_OK)
		exit(1);
	struct rv_pose declared = layout.pose;
	long before = asked;
	for (int k = 0; k < ROUNDS; k++) {
		double start_us = now_us();
		solve_cold(&solver, &declared);
		took_us[k] = now_us() - start_us;
	}
	long allocations = asked - before;
	qsort(took_us, ROUNDS, sizeof took_us[0], by_size);
	median_us[i] = took_us[ROUNDS / 2];
	printf("{\"figure\":\"solve\",\"rig\":\"%s\",\"unknowns\":%d,\"passes\":%d,\"steps\":%d,"
	       "\"median_us\":%.2f,\"high_us\":%.2f,\"allocations\":%ld}\n",
	       rigs[i].label, solver.full ? solver.full->equations.n : 0,
	       solver.full ? solver.full->passes_made : 1,
	       solver.full ? solver.full->steps_made : 0, median_us[i], took_us[ROUNDS * 99 / 100],
	       allocations);
	rv_solver_close(&solver);
}

static void evaluate(int i)
{
	static struct rv_loads loads;
	struct rv_predictor *predictor = NULL;
	struct rv_error error;
	static const enum rv_motion motions[] = {RV_MOTION_IN, RV_MOTION_HOLD};

	rig_case_read(rigs[i].text, &rig);
	if (rig.cells == 0 || rv_predictor_new(&rig, &predictor, &error) != RV_OK)
		return;
	for (int m = 0; m < 2; m++) {
		long before = asked;
		for (int k = 0; k < ROUNDS; k++) {
			double start_us = now_us();
			if (rv_predictor_loads(predictor, 0, 1000.0 + k, motions[m], &loads) !=
			    RV_OK)
				exit(1);
			took_us[k] = now_us() - start_us;
		}
		long allocations = asked - before;
		qsort(took_us, ROUNDS, sizeof took_us[0], by_size);
		printf("{\"figure\":\"evaluate\",\"rig\":\"%s\",\"motion\":\"%s\",\"components\":"
		       "%d,\"median_ns\":%.0f,\"allocations\":%ld}\n",
		       rigs[i].label, m ? "hold" : "in", rv_predictor_components(predictor),
		       1e3 * took_us[ROUNDS / 2], allocations);
	}
	long before = asked;
	for (int k = 0; k < 101; k++) {
		double start_us = now_us();
		(void)rv_predictor_at_payout(predictor, 0.01 * k, 0, 1000.0, &error);
		took_us[k] = now_us() - start_us;
	}
	long allocations = asked - before;
	qsort(took_us, 101, sizeof took_us[0], by_size);
	printf("{\"figure\":\"follow\",\"rig\":\"%s\",\"median_us\":%.1f,\"allocations\":%ld}\n",
	       rigs[i].label, took_us[50], allocations);
	rv_predictor_free(predictor);
}

int main(void)
{
	double sorted_us[RIGS];

	for (int i = 0; i < RIGS; i++)
		solve(i);
	memcpy(sorted_us, median_us, sizeof sorted_us);
	qsort(sorted_us, RIGS, sizeof sorted_us[0], by_size);
	printf("{\"figure\":\"solve, typical\",\"median_us\":%.2f,\"worst_us\":%.2f}\n",
	       sorted_us[RIGS / 2], sorted_us[RIGS - 1]);
	for (int i = 0; i < RIGS; i++)
		evaluate(i);
	return 0;
}
