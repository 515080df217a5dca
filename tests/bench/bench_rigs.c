/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/bench/bench_rigs.h"

#include <glob.h>
#include <gsl/gsl_linalg.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/bench/bench.h"
#include "tests/unit/rig_cases.h"

enum { TEXT_BYTES = 65536 };

static const struct {
	const char *label, *text;
} known[] = {
    {"redirect", RIG_REDIRECT},
    {"two parts", RIG_TWO_PARTS},
    {"three parts", RIG_THREE_PARTS},
    {"four parts in space", RIG_FOUR_PARTS},
    {"five parts", RIG_FIVE_PARTS},
    {"lower over a bar", RIG_LOWER},
    {"self recovery", RIG_SELF},
    {"piggyback", RIG_PIGGYBACK},
    {"burton of three", RIG_BURTON_3},
    {"burton of four", RIG_BURTON_4},
    {"gully", RIG_GULLY},
    {"equalised sling", RIG_SLING},
};

/* Strong on the diagonal, so that it can be solved; the numbers do not matter to the time. */
static void make_reference(struct rv_bench_rig *rig)
{
	size_t n = (size_t)rig->unknowns;

	rig->full = gsl_matrix_alloc(n, n);
	rig->factors = gsl_matrix_alloc(n, n);
	rig->right = gsl_vector_alloc(n);
	rig->solution = gsl_vector_alloc(n);
	rig->order = gsl_permutation_alloc(n);
	for (size_t i = 0; i < n; i++) {
		gsl_vector_set(rig->right, i, 1.0 + (double)i);
		for (size_t j = 0; j < n; j++)
			gsl_matrix_set(rig->full, i, j,
				       (i == j ? (double)n : 0.0) +
					   0.1 * (double)((3 * i + 7 * j) % 11));
	}
}

void rv_bench_rigs_reference(void *ctx, int repeat)
{
	struct rv_bench_rig *rig = ctx;
	int sign = 0;

	(void)repeat;
	gsl_matrix_memcpy(rig->factors, rig->full);
	gsl_linalg_LU_decomp(rig->factors, rig->order, &sign);
	gsl_linalg_LU_solve(rig->factors, rig->order, rig->right, rig->solution);
}

static void make(struct rv_bench_rig **list, int *count, const char *name, const char *text)
{
	static const struct rv_givens none;
	struct rv_bench_rig *rig = calloc(1, sizeof *rig);
	struct rv_error error = {0};

	if (!rig || *count == RV_BENCH_RIGS)
		rv_bench_give_up(name, "no room for it");
	snprintf(rig->name, sizeof rig->name, "%s", name);
	if (rv_rig_read(text, strlen(text), &rig->rig, &error) != RV_OK ||
	    rv_layout_make(&rig->rig, &rig->layout, &error) != RV_OK ||
	    rv_given_choose(&rig->rig, &none, &rig->givens, &error) != RV_OK ||
	    rv_solver_open(&rig->layout, &rig->givens, &rig->solver, &error) != RV_OK)
		rv_bench_give_up(name, error.text);
	rig->declared = rig->layout.pose;
	rig->unknowns = rig->layout.reeving.legs +
			(rig->solver.full ? rig->solver.full->equations.positions : 0);
	make_reference(rig);
	list[(*count)++] = rig;
}

static void read_text(const char *path, char text[TEXT_BYTES])
{
	FILE *file = fopen(path, "r");

	if (!file)
		rv_bench_give_up(path, "cannot be read");
	size_t len = fread(text, 1, TEXT_BYTES - 1, file);
	fclose(file);
	text[len] = '\0';
}

/* tools/rigs/slip-straight.yaml -> slip-straight */
static void short_name(const char *path, char name[64])
{
	const char *slash = strrchr(path, '/');

	snprintf(name, 64, "%s", slash ? slash + 1 : path);
	char *dot = strrchr(name, '.');
	if (dot)
		*dot = '\0';
}

int rv_bench_rigs_read(struct rv_bench_rig **list)
{
	static char text[TEXT_BYTES];
	glob_t found;
	int count = 0;

	for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
		make(list, &count, known[i].label, known[i].text);
	if (glob("tools/rigs/*.yaml", 0, NULL, &found) != 0)
		rv_bench_give_up("tools/rigs", "not here: run it from the root of the project");
	for (size_t i = 0; i < found.gl_pathc; i++) {
		char name[64];

		short_name(found.gl_pathv[i], name);
		read_text(found.gl_pathv[i], text);
		make(list, &count, name, text);
	}
	globfree(&found);
	return count;
}
