/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A played session as a table, for `reeve import`: truth_play SEED CYCLES PAYS SWAP [EXCESS]
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/truth/simrig.h"

struct line {
	double t_s, value[3]; /* near, far, line out */
};

static void print(struct line *line)
{
	if (line->t_s >= 0.0) {
		printf("%.6f", line->t_s);
		for (int i = 0; i < 3; i++)
			isnan(line->value[i]) ? printf(",") : printf(",%.4f", line->value[i]);
		printf("\n");
	}
	for (int i = 0; i < 3; i++)
		line->value[i] = (double)NAN;
}

static void put(struct line *line, int at, double value, double t_s)
{
	if (t_s > line->t_s)
		print(line);
	line->t_s = t_s;
	line->value[at] = value;
}

static void cell(void *line, int cell, double value_n, double t_s)
{
	put(line, cell, value_n, t_s);
}

static void payout(void *line, double payout_m, double t_s)
{
	put(line, 2, payout_m, t_s);
}

int main(int argc, char **argv)
{
	struct sim_setup setup = sim_base();
	struct line line = {.t_s = -1.0, .value = {(double)NAN, (double)NAN, (double)NAN}};
	const struct sim_ears ears = {.cell = cell, .payout = payout, .ear = &line};
	struct sim_truth truth;

	if (argc < 5)
		return 2;
	setup.cycles = (int)strtol(argv[2], NULL, 10);
	setup.pays = (int)strtol(argv[3], NULL, 10);
	setup.swap = strtol(argv[4], NULL, 10) != 0;
	if (argc > 5)
		setup.excess_ratio = strtod(argv[5], NULL);
	printf("time_s,lead_n,dead end_n,payout_m\n");
	sim_play(&setup, strtoull(argv[1], NULL, 10), &ears, &truth);
	print(&line);
	return 0;
}
