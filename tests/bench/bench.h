/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the benches in C share: a subject is timed beside a bare reference, in turns, pair by pair,
 * so that a busy machine slows both; what counts is processor time unless it waits.  A bench prints one JSON line
 * for each figure, the pairs in it; tools/bench makes medians, spreads and ratios of them.
 */
#ifndef RV_TESTS_BENCH_H
#define RV_TESTS_BENCH_H

#include <stdbool.h>

enum { RV_BENCH_PAIRS = 101, RV_BENCH_NAME = 160 };

/* Something to be done over and over; repeat counts from 0. */
struct rv_bench_work {
	void (*work)(void *ctx, int repeat);
	void *ctx;
};

/* A subject and its reference, and what each pair measured: nanoseconds for one repeat. */
struct rv_bench_item {
	char name[RV_BENCH_NAME];
	bool waits; /* for a disk or another program: the clock counts, not the processor's time */
	struct rv_bench_work subject, reference;
	double subject_ns[RV_BENCH_PAIRS], reference_ns[RV_BENCH_PAIRS];
	long allocations; /* most that one repeat of the subject asked for */
};

/* One figure as it is told. */
struct rv_bench_figure {
	const char *name;
	const char *unit; /* "us" or "ns" */
	double at_most;	  /* in that unit; NaN = no aim */
	const char *reference;
};

/* How many pairs to measure: the first argument, else 11.  Leaves with status 2 unless 5 to
 * RV_BENCH_PAIRS. */
int rv_bench_pairs(int argc, char **argv);

/* Measures all items in turns.  Each stretch of repeats lasts some 0.3 ms. */
void rv_bench_run(struct rv_bench_item *items, int count, int pairs);

/* The item in the middle, pair by pair: of what the subjects took, and of what the references took. */
void rv_bench_tell_median(const struct rv_bench_figure *figure, const struct rv_bench_item *items,
			  int count, int pairs);

/* The item whose subject takes longest. */
void rv_bench_tell_worst(const struct rv_bench_figure *figure, const struct rv_bench_item *items,
			 int count, int pairs);

/* The most allocations for one repeat; the aim is none. */
void rv_bench_tell_allocations(const char *name, const struct rv_bench_item *items, int count);

/* Says why on stderr and leaves with status 1. */
_Noreturn void rv_bench_give_up(const char *what, const char *why);

#endif
