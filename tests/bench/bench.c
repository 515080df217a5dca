/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/bench/bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/json.h"
#include "core/text.h"

#define STRETCH_NS 300e3

enum { COUNTED = 100, MOST_REPEATS = 1000000 };

/* The C library's own (glibc): these stand in front of them and count whoever asks, libraries too.
 */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);

static long asked;

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

void rv_bench_give_up(const char *what, const char *why)
{
	fprintf(stderr, "bench: %s: %s\n", what, why);
	exit(1);
}

int rv_bench_pairs(int argc, char **argv)
{
	int64_t pairs = 11;

	if (argc > 1 &&
	    (rv_text_to_int64(argv[1], &pairs) != RV_OK || pairs < 5 || pairs > RV_BENCH_PAIRS)) {
		fprintf(stderr, "bench: say 5 to %d pairs\n", RV_BENCH_PAIRS);
		exit(2);
	}
	return (int)pairs;
}

/* The processor's time, not the day's: while another program has the processor, this one does not
 * get slower. */
static double time_ns(const struct rv_bench_item *item, struct rv_bench_work work, int repeats)
{
	clockid_t clock = item->waits ? CLOCK_MONOTONIC : CLOCK_THREAD_CPUTIME_ID;
	struct timespec from, to;

	clock_gettime(clock, &from);
	for (int i = 0; i < repeats; i++)
		work.work(work.ctx, i);
	clock_gettime(clock, &to);
	return (1e9 * (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec)) /
	       repeats;
}

/* So many that a stretch lasts long enough for the clock; warms up on the way. */
static int repeats_of(const struct rv_bench_item *item, struct rv_bench_work work)
{
	int repeats = 1;

	while (repeats < MOST_REPEATS && time_ns(item, work, repeats) * repeats < STRETCH_NS)
		repeats *= 2;
	return repeats;
}

static long count_allocations(struct rv_bench_work work)
{
	long most = 0;

	for (int i = 0; i < COUNTED; i++) {
		long before = asked;
		work.work(work.ctx, i);
		if (asked - before > most)
			most = asked - before;
	}
	return most;
}

void rv_bench_run(struct rv_bench_item *items, int count, int pairs)
{
	int *repeats = calloc(2 * (size_t)count, sizeof *repeats);

	if (!repeats)
		rv_bench_give_up("run", "no memory");
	for (int i = 0; i < count; i++) {
		repeats[2 * i] = repeats_of(&items[i], items[i].subject);
		repeats[2 * i + 1] = repeats_of(&items[i], items[i].reference);
		items[i].allocations = count_allocations(items[i].subject);
	}
	for (int k = 0; k < pairs; k++)
		for (int i = 0; i < count; i++)
			/* Each goes first in every other pair. */
			for (int turn = 0; turn < 2; turn++)
				if ((turn + k) % 2 == 0)
					items[i].subject_ns[k] =
					    time_ns(&items[i], items[i].subject, repeats[2 * i]);
				else
					items[i].reference_ns[k] = time_ns(
					    &items[i], items[i].reference, repeats[2 * i + 1]);
	free(repeats);
}

static int by_size(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

static double median(double *values, int count)
{
	qsort(values, (size_t)count, sizeof *values, by_size);
	return count % 2 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2.0;
}

static void print(json_t *line)
{
	struct rv_text text = {0};

	if (!line)
		rv_bench_give_up("print", "no memory");
	rv_json_write(line, &text);
	printf("%s\n", text.data);
	rv_text_free(&text);
	json_decref(line);
}

/* pairs: a list of [subject, reference] in the figure's unit. */
static void print_figure(const struct rv_bench_figure *figure, const char *of, json_t *pairs)
{
	print(json_pack("{s:s,s:s,s:s,s:o,s:s,s:o}", "name", figure->name, "of", of, "unit",
			figure->unit, "at_most", rv_json_real(figure->at_most), "reference",
			figure->reference, "pairs", pairs));
}

static double scale_of(const struct rv_bench_figure *figure)
{
	return strcmp(figure->unit, "us") == 0 ? 1e-3 : 1.0;
}

void rv_bench_tell_median(const struct rv_bench_figure *figure, const struct rv_bench_item *items,
			  int count, int pairs)
{
	double *subject = calloc((size_t)count, sizeof *subject);
	double *reference = calloc((size_t)count, sizeof *reference);
	double scale = scale_of(figure);
	json_t *list = json_array();
	char of[RV_BENCH_NAME];

	if (!subject || !reference)
		rv_bench_give_up(figure->name, "no memory");
	for (int k = 0; k < pairs; k++) {
		for (int i = 0; i < count; i++) {
			subject[i] = items[i].subject_ns[k];
			reference[i] = items[i].reference_ns[k];
		}
		json_array_append_new(list, json_pack("[f,f]", scale * median(subject, count),
						      scale * median(reference, count)));
	}
	snprintf(of, sizeof of, "median of %d", count);
	print_figure(figure, of, list);
	free(subject);
	free(reference);
}

void rv_bench_tell_worst(const struct rv_bench_figure *figure, const struct rv_bench_item *items,
			 int count, int pairs)
{
	double copy[RV_BENCH_PAIRS], longest_ns = 0.0, scale = scale_of(figure);
	json_t *list = json_array();
	int worst = 0;

	for (int i = 0; i < count; i++) {
		memcpy(copy, items[i].subject_ns, sizeof copy);
		double took_ns = median(copy, pairs);
		if (took_ns > longest_ns) {
			longest_ns = took_ns;
			worst = i;
		}
	}
	for (int k = 0; k < pairs; k++)
		json_array_append_new(list, json_pack("[f,f]", scale * items[worst].subject_ns[k],
						      scale * items[worst].reference_ns[k]));
	print_figure(figure, items[worst].name, list);
}

void rv_bench_tell_allocations(const char *name, const struct rv_bench_item *items, int count)
{
	char of[RV_BENCH_NAME];
	int most = 0;

	for (int i = 1; i < count; i++)
		if (items[i].allocations > items[most].allocations)
			most = i;
	if (items[most].allocations > 0)
		snprintf(of, sizeof of, "%s", items[most].name);
	else
		snprintf(of, sizeof of, "each of %d", count);
	print(json_pack("{s:s,s:s,s:s,s:i,s:I}", "name", name, "of", of, "unit", "allocations",
			"at_most", 0, "count", (json_int_t)items[most].allocations));
}
