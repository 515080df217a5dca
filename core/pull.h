/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One pull: a stretch of line moving one way, and the robust log ratio ln(far / near) of two cells
 * during it.  Streaming; the same code runs live and over stored readings.  Time is an argument,
 * nothing is allocated.
 *
 * Both cells are brought to a grid of 50 Hz (core/grid, each shifted by its declared delay).  Counted
 * are grid points after the start guard (1 s and max(0.30 m, 0.08 m x sheaves) of line; 3 s where
 * the line's travel is not known) and more than W + 0.3 s before the motion ended, with both forces
 * above their slack floor and every sheave certainly turning (core/mobilise; where line out is
 * known).  Blocks of 1 s, at least half of it counted, give ln(sum far / sum near);
 * the pull's number is Tukey's bisquare location of its blocks, c = 4.685, scale MAD/0.6745 (Beaton
 * and Tukey, Technometrics 16, 1974; from memory).  Fewer than 3 blocks or 2 s: the pull is dropped,
 * with a word why.  So it is when more than 1 % of it lay at the full scale of a cell.  Pulls of more than RV_PULL_BLOCKS s join their blocks two by two.
 *
 * scatter_ratio is t(0.975; 3) x (standard deviation of the means of 4 stretches) / 2.  It says how
 * much this pull scatters within itself and nothing more: no coverage is claimed.
 */
#ifndef RV_CORE_PULL_H
#define RV_CORE_PULL_H

#include <stdbool.h>
#include <stdint.h>

#include "core/lag.h"
#include "core/mobilise.h"
#include "core/motion.h"
#include "core/surge.h"

enum { RV_PULL_BLOCKS = 1800 };

enum rv_pull_cell { RV_PULL_NEAR, RV_PULL_FAR, RV_PULL_CELLS };

enum rv_pull_why {
	RV_PULL_KEPT,
	RV_PULL_TOO_SHORT, /* fewer than 3 blocks or 2 s of steady motion */
	RV_PULL_SLACK,	   /* most of it below the slack floor */
	RV_PULL_MISSING,   /* most of it without readings of both cells */
	RV_PULL_RAN_BACK,  /* most of it with sheaves that had run back */
	RV_PULL_SATURATED, /* more than 1 % at the full scale of a cell */
	RV_PULL_WHYS
};

/* "", "too short", "slack", "readings missing", "sheaves ran back", "cell at full scale" */
const char *rv_pull_why_name(enum rv_pull_why why);

struct rv_pull_side {
	double delay_s; /* of the cell, its filter and its link; NaN = not stated, taken as 0 */
	double tare_n;	/* taken off; NaN = 0 */
	double floor_n; /* slack below: rv_pull_floor_n */
	double full_n;	/* its capacity; NaN or 0 = not stated */
};

struct rv_pull_setup {
	struct rv_pull_side side[RV_PULL_CELLS];
	double sheaves; /* effective number between the cells, for the start guard */
	struct rv_mobilise_setup rope; /* slowest_ratio 0 = not known, taken as 1 */
	double load_n;	     /* above 0: there is no far cell, a load of this force stands for it */
	double more_guard_s; /* added to the start guard (a load that must first hang) */
};

/* Slack floor of a channel: 10 x (standard uncertainty of its zero + one step of its reading). */
double rv_pull_floor_n(const struct rv_channel *channel);

/* What setup the two channels of a pair give. */
struct rv_pull_setup rv_pull_setup_of(const struct rv_channel *near, const struct rv_channel *far,
				      double sheaves);

struct rv_pull_result {
	enum rv_motion direction; /* in or out */
	int64_t start_ns, end_ns; /* of the motion */
	double travelled_m;	  /* NaN when not known */
	double start_m;		  /* line out when it began; NaN when not known */
	double mean_tension_n;	  /* of the near cell over what was counted; NaN when nothing was */
	double far_n;		  /* of the far cell likewise */
	double slope_ps;	  /* of the near tension over what was counted, relative, 1/s */
	double log_ratio;	  /* NaN when there is none yet */
	double scatter_ratio;	  /* NaN below 4 blocks */
	double turning_ratio; /* share of loaded time in which every sheave certainly turned; NaN when
				 line out is not known */
	double surge_log;     /* core/surge */
	double lag_s;	      /* core/lag */
	double counted_s;     /* s of readings counted */
	int blocks;
	bool unloaded_before; /* slack came between the pull before and this one */
	enum rv_pull_why why; /* of a pull under way: what it would be if it ended now */
};

struct rv_pull {
	struct rv_pull_setup setup;
	struct rv_grid cell[RV_PULL_CELLS];
	struct rv_grid payout;
	int step_half; /* line out is a mean over so many grid points either way: one encoder step */
	bool under_way, went_slack;
	struct rv_pull_result result; /* of the pull under way, but for the numbers of its blocks */
	int64_t guard_ns;	      /* counting begins here; 0 = not yet */
	int64_t next;		      /* grid point to be judged next */
	double sum_n[RV_PULL_CELLS];  /* of the block under way */
	int in_block, counted_in_block;
	double total_n[RV_PULL_CELLS];
	double moment_s, moment_s2, moment_ns; /* sums of time, its square, time x near tension */
	int64_t counted, slack, missing, ran_back, full, placed;
	struct rv_mobilise turning;
	struct rv_surge surge;
	struct rv_lag lag;
	int block_s; /* length of a block, doubles when blocks are joined */
	int blocks;
	double block[RV_PULL_BLOCKS];
};

void rv_pull_init(struct rv_pull *pull, const struct rv_pull_setup *setup);

/* A reading of one of the two cells, in newtons, without tare taken off.  NaN = a bad one. */
void rv_pull_see(struct rv_pull *pull, enum rv_pull_cell cell, double value_n, int64_t mono_ns);

/* A reading of line out (or of what stands for it), metres. */
void rv_pull_payout(struct rv_pull *pull, double payout_m, int64_t mono_ns);

/* The counter of line out was set anew. */
void rv_pull_payout_restart(struct rv_pull *pull);

/* What the line does, at each change and at least a few times a second.  True: a pull has just
 * ended and is in *ended. */
bool rv_pull_motion(struct rv_pull *pull, const struct rv_motion_now *now, int64_t mono_ns,
		    struct rv_pull_result *ended);

/* The pull under way.  False, and *running untouched: there is none. */
bool rv_pull_running(const struct rv_pull *pull, struct rv_pull_result *running);

/* Tukey's bisquare location of count values; NaN for none.  work holds 2 * count doubles. */
double rv_pull_location(const double *values, int count, double *work);

#endif
