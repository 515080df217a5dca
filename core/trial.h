/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The test to run for the efficiency of a rig's sheaves: which design its load and cells allow, how
 * many pulls, at which loads, in which order, how much line each takes.
 *
 *   cells                  load                 design
 *   two, alike             pulls back (hung)    cycles, the cells exchanged half-way
 *   two, alike             does not             hauls, the cells exchanged half-way
 *   two, leg and shackle   pulls back           cycles
 *   two, leg and shackle   does not             hauls, with the gains calibrated
 *   one                    pulls back           one cell hung: up and down
 *   one                    drags steadily       one cell moved, near and far in turns
 *   one                    varies               none: refused
 *
 * The half-width to expect comes from nominal scatter: 0.9 % of a log ratio from pull to pull (a hung
 * load at one cell 0.7 %, a dragged one 1.5 %), 5 % either way of an excess loss where nothing else
 * bounds it, an efficiency of 0.96; own choices, from a played tackle.  Pulls come in fours, low, high,
 * high, low, at least 8, and their number is fixed beforehand: stopping when the interval looks good
 * makes it untrue.
 */
#ifndef RV_CORE_TRIAL_H
#define RV_CORE_TRIAL_H

#include "core/curve.h"
#include "core/json.h"

enum { RV_TRIAL_MOST_PULLS = 60, RV_TRIAL_NOTES = 8, RV_TRIAL_STEPS = 4 * RV_TRIAL_MOST_PULLS };

struct rv_trial_ask {
	double within_ratio;	 /* half-width wanted, of the efficiency: 0.005 */
	double low_n, high_n;	 /* loads, high at least twice low; NaN: from what the rig's load resists */
	enum rv_load_character character; /* UNSAID: as the rig declares */
	double line_speed_mps;	 /* 0.15 */
};

enum rv_trial_do {
	RV_TRIAL_ZERO,
	RV_TRIAL_LOAD,
	RV_TRIAL_HAUL,
	RV_TRIAL_PAY_OUT,
	RV_TRIAL_UNLOAD,
	RV_TRIAL_EXCHANGE,
	RV_TRIAL_MOVE
};

struct rv_trial_step {
	enum rv_trial_do what;
	int pull;      /* number of the pull or cycle; 0 = none */
	double load_n; /* NaN: not known */
	bool at_far;   /* one cell moved: where it sits */
};

struct rv_trial {
	char rig[2 * RV_NAME_SIZE];
	enum rv_estimate_mode design;
	bool cycles;	/* each haul with a paying out */
	bool assumed;	/* nothing was declared of what the load does: taken as not pulling back */
	char near[RV_NAME_SIZE], far[RV_NAME_SIZE];
	double sheaves_effective;
	double low_n, high_n;
	double within_ratio, half_width_ratio; /* wanted, expected */
	double scatter_log;
	int pulls; /* or cycles */
	double line_m, load_m; /* each pull: line, and way of the load */
	double line_speed_mps;
	int steps;
	struct rv_trial_step step[RV_TRIAL_STEPS];
	int notes;
	struct rv_estimate_note note[RV_TRIAL_NOTES];
};

struct rv_trial_ask rv_trial_ask_init(void);

/* RV_ERR_REFUSED: one_cell_no_design, no_cells, rig_not_covered, insensitive_placement.
 * RV_ERR_RANGE: high below twice low. */
enum rv_err rv_trial_make(const struct rv_predictor *predictor, const struct rv_trial_ask *ask,
			  struct rv_trial *trial, struct rv_error *error);

/* Words of a step, forces left to the caller: "haul in 1.9 m of line without a stop", ... */
void rv_trial_words(const struct rv_trial *trial, const struct rv_trial_step *step, char *text,
		    size_t size);

/* New reference; NULL when memory was refused. */
json_t *rv_trial_json(const struct rv_trial *trial);

#endif
