/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From facts of pulls to the efficiency of a sheave with an interval that is true, or the reason why
 * there is none.  The design of the test decides the method, never the result.
 *
 * Everything is reckoned in x = ln(efficiency) < 0 and in log ratios L = ln(far / near).  With the
 * sheaves in question at efficiency e^x the rig gives in(x) and out(x).  With a relative gain g of
 * the two cells: L_in = g + in(x), L_out = g + out(x (1 + excess)).
 *
 *   mode            what is pulled                               what cancels
 *   cycles          three or more hauls, each with a pay-out     calibration, in part
 *   hauls           two or more hauls, gain known                nothing
 *   swapped         half of it with the two cells exchanged      the gain
 *   one cell hung   a free weight up and down                    gain and weight
 *   one cell moved  near, far, near, far ... with one load       the gain
 *   joint           three cells and more: core/joint fills this struct
 *
 * Sources: law of propagation and effective degrees of freedom, JCGM 100:2008, Annex G (Welch and
 * Satterthwaite); interval under a bounded bias, Armstrong and Kolesar, Econometrica 86 (2018); all
 * from memory, not re-read.  core/estimate_make does it.  The thresholds are own choices, with the tests in tests/truth for evidence.
 */
#ifndef RV_CORE_ESTIMATE_H
#define RV_CORE_ESTIMATE_H

#include <stdbool.h>

#include "core/err.h"
#include "core/pull.h"
#include "core/rig.h"

enum {
	RV_ESTIMATE_PULLS = 512, /* most pulls of one estimate, all runs together */
	RV_ESTIMATE_RUNS = 64,
	RV_ESTIMATE_SHEAVES = RV_RIG_LEGS,
	RV_ESTIMATE_SOURCES = 12,
	RV_ESTIMATE_WARNINGS = 24,
	RV_ESTIMATE_PARTS = 12, /* parts of line that a rig agreement may name */
};

/* One pull, or the paying out of a cycle, as numbers.  Made from readings by core/pull and what
 * stands beside it, or from a hand sheet.  Times in seconds from the run's start; the pulls of a run
 * stand in the order of time, the runs one after another.
 *
 * near_n and far_n are the tensions at the near and the far PLACE, whichever cell stood there.  A
 * place that was not measured (one cell) has NaN and counts as 1 N in log_ratio: a cell at the near
 * place of S newtons gives -ln S, one at the far place ln S. */
struct rv_estimate_pull {
	int run;		  /* position in the list of runs given, from 0 */
	int index;		  /* number of the pull in its run, from 1 */
	enum rv_motion direction; /* in or out */
	double start_s, end_s;
	double since_zero_ratio; /* time since the zeros / length of the session, 0 .. 1; NaN: 1 */
	double near_n, far_n;	 /* mean tensions of what was counted, tare taken off */
	double log_ratio;	 /* ln(far / near), Tukey location; NaN when not kept */
	double slope_ps;	 /* relative slope of the near tension, 1/s; NaN: not known */
	double mobilised_ratio;	 /* share of samples with every sheave certainly turning; NaN: not known */
	double surge_log;	 /* mean log ratio in the top 30 % of rising tension minus bottom 30 %;
				    NaN: not known */
	double lag_s;		 /* delay of far against near found by correlation; NaN: none */
	double travel_m;	 /* line moved; NaN: not known */
	int stint;		 /* number of the stint it belongs to */
	bool exchanged;		 /* two cells: they stood exchanged.  One cell moved: at the far place */
	bool unloaded_before;	 /* tension fell to slack since the pull before */
	enum rv_pull_why why;	 /* RV_PULL_KEPT or why not */
	const char *struck;	 /* reason a person gave, NULL = not struck */
};

/* What is known of a cell.  NaN = not stated (a zero or drift not stated counts as none, and the
 * budget says so). */
struct rv_estimate_cell {
	const char *name;
	double u_gain_ratio; /* standard, relative */
	double u_zero_n;     /* standard */
	double u_drift_n;    /* standard, between zeros */
	double u_inverse_n;  /* inverse_error_n / sqrt(3) */
	double capacity_n;
	double delay_s;
	const char *calibration; /* name, or NULL; equal names of two runs = the same calibration */
};

/* ln(far / near) with the sheaves in question at efficiency e^x, the line moving in or out, the other
 * sheaves and bars as declared; x from ln 0.3 to ln 2.6.  Where all sheaves are in question and all
 * loss is theirs, out at x is in at -x.  A function so that tests may give one in closed form;
 * core/curve makes one of a rig.  NaN where the rig has no answer. */
struct rv_estimate_curve {
	double (*log_ratio)(const void *rig, double x, enum rv_motion motion);
	const void *rig;
};

enum rv_estimate_source {
	RV_ESTIMATE_BY_PAYOUT,
	RV_ESTIMATE_BY_TURNS,
	RV_ESTIMATE_BY_SWITCH,
	RV_ESTIMATE_BY_MARKS,
	RV_ESTIMATE_BY_TENSIONS,
	RV_ESTIMATE_BY_SHEET, /* a person said it in the sheet of pulls */
};

/* "payout", "turns", "switch", "marks", "tensions"; NULL for the sheet. */
const char *rv_estimate_source_name(enum rv_estimate_source source);

enum rv_estimate_design {
	RV_ESTIMATE_TWO_CELLS, /* cycles, hauls, or swapped when any pull is exchanged */
	RV_ESTIMATE_WEIGHT, /* one cell, and a declared weight for far_n and in log_ratio */
	RV_ESTIMATE_ONE_HUNG,  /* one cell, near; the curve is ln(load / cell) */
	RV_ESTIMATE_ONE_MOVED, /* one cell, near or far; the curve is that of the two places */
	RV_ESTIMATE_ONE_FIXED, /* one cell and nothing else: always refused, one_cell_no_design */
};

/* One run of those given. */
struct rv_estimate_run {
	int number;			 /* in its record */
	struct rv_estimate_cell cell[2]; /* RV_PULL_NEAR, RV_PULL_FAR; of pulls not exchanged */
};

/* rv_estimate_setup_init fills in what a caller need not say. */
struct rv_estimate_setup {
	enum rv_estimate_design design;
	const struct rv_estimate_run *run; /* 1 .. RV_ESTIMATE_RUNS; one set-up, one curve */
	int runs;
	struct rv_estimate_curve curve;
	struct rv_estimate_curve load; /* one cell moved: ln(load / near place), to look for friction
					  of the load; log_ratio NULL: not looked for */
	double declared_low_ratio, declared_high_ratio; /* of the sheaves in question; NaN: none */
	enum rv_load_character character;		/* UNSAID: nothing declared */
	double weight_n, u_weight_n;			/* RV_ESTIMATE_WEIGHT */
	enum rv_estimate_source motion;
	bool stiffness_known;	 /* of the line: the mobilisation gate takes in its stretch */
	bool speed_known;	 /* from an encoder, or declared; false: marks or tensions without */
	bool load_constant;	 /* one cell moved: the user says the load does not drift */
	double excess_low_ratio; /* bounds of the excess loss paying out; 0 and 0.20 */
	double excess_high_ratio;
	double correlation;	      /* declared, of neighbouring pulls; NaN (default): by the stints */
	double u_gain_ratio;	      /* of the RATIO, from cells in series; NaN: from the cells */
	double u_remount_ratio;	      /* change of a cell's gain by re-mounting it; 0.0005 */
	double u_linearity_ratio;     /* of a moved cell; 0 */
	double u_lag_s;		      /* 0.010 */
	double u_geometry_ratio;      /* of the log ratio, from leg angles; 0 */
	double state_bias_log;	      /* half-width added for states found from tensions; 0 */
	double session_log;	      /* sd of ln efficiency from day to day; NaN: not known */
};

void rv_estimate_setup_init(struct rv_estimate_setup *setup);

enum rv_estimate_mode {
	RV_ESTIMATE_NONE,
	RV_ESTIMATE_CYCLES,
	RV_ESTIMATE_HAULS,
	RV_ESTIMATE_SWAPPED,
	RV_ESTIMATE_JOINT,
	RV_ESTIMATE_HUNG,
	RV_ESTIMATE_MOVED,
};

/* As in JSON; NULL for none. */
const char *rv_estimate_mode_name(enum rv_estimate_mode mode);

enum rv_estimate_unit_kind { RV_ESTIMATE_PULL, RV_ESTIMATE_CYCLE, RV_ESTIMATE_STINT, RV_ESTIMATE_RUN };

const char *rv_estimate_unit_name(enum rv_estimate_unit_kind kind);

/* NaN in all = there is none. */
struct rv_estimate_interval {
	double ratio, low_ratio, high_ratio;
	double dof; /* infinity when type B rules */
};

struct rv_estimate_source_entry {
	const char *source; /* words, static */
	char kind;	    /* 'A' or 'B' */
	double u_ratio;	    /* standard uncertainty brought to the efficiency */
	double dof;	    /* infinity for B */
};

struct rv_estimate_note {
	char code[32];
	char text[320];
};

/* What one unit (pull, cycle, stint or run) says by itself: what comparisons and fits go by. */
struct rv_estimate_unit {
	double x;	   /* ln(efficiency) */
	double log_value;  /* L of a haul, D = L_in - L_out of a cycle */
	double at_s;	   /* middle, from its run's start */
	double mean_n;	   /* mean of the tensions it rests on */
	int run, stint, index; /* index: of the haul in its run */
	double per_gain;       /* change of x by a relative error of far / near */
	double per_near_n, per_far_n; /* change of x by an error of the zero of cell 0 and 1, 1/N */
};

struct rv_estimate_per_sheave {
	const char *block; /* borrowed from the caller's rig */
	int sheave;
	struct rv_estimate_interval efficiency;
};

/* Filled by the rooms that fit a constant part and compare with other parts of line. */
struct rv_estimate_loss {
	bool known; /* false: null in JSON */
	bool has_constant;
	double constant_n, low_n, high_n;
};

enum rv_estimate_verdict {
	RV_ESTIMATE_NOT_ASKED, /* null in JSON */
	RV_ESTIMATE_CONFIRMED,
	RV_ESTIMATE_NOT_RESOLVED,
	RV_ESTIMATE_CONTRADICTED
};

struct rv_estimate_agreement {
	enum rv_estimate_verdict verdict;
	int parts; /* entries used */
	int parts_of_line[RV_ESTIMATE_PARTS];
};

struct rv_estimate {
	enum rv_estimate_mode mode;
	enum rv_estimate_unit_kind unit;
	bool refused;
	struct {
		char code[32];
		char text[320];
		char cure[240];
	} refusal;
	double sheaves_effective;
	struct rv_estimate_interval efficiency; /* hauling in where it can be had */
	struct rv_estimate_interval relative_gain;
	struct rv_estimate_interval in, out, mean; /* by direction */
	struct rv_estimate_interval excess;	   /* excess loss paying out, ratio 0 = equal */
	struct rv_estimate_interval with_struck;   /* efficiency if no pull were struck */
	struct rv_estimate_interval another_day;   /* for a statement beyond this test */
	double drift_ph, drift_low_ph, drift_high_ph; /* of the efficiency, 1/h; NaN: not judged */
	double neighbours;			      /* lag-1 correlation of units; NaN: not judged */
	double load_friction, load_friction_low, load_friction_high; /* one cell moved; NaN */
	int pulls_used, cycles;
	int units;
	struct rv_estimate_unit each[RV_ESTIMATE_PULLS];
	int per_sheaves;
	struct rv_estimate_per_sheave per_sheave[RV_ESTIMATE_SHEAVES];
	struct rv_estimate_loss loss;
	struct rv_estimate_agreement agreement;
	int sources;
	struct rv_estimate_source_entry source[RV_ESTIMATE_SOURCES];
	int warnings;
	struct rv_estimate_note warning[RV_ESTIMATE_WARNINGS];
	char estimand[900];
};

/* All NaN, nothing refused. */
void rv_estimate_init(struct rv_estimate *estimate);

/* Refuses: no efficiency any more.  The first refusal stands. */
void rv_estimate_refuse(struct rv_estimate *estimate, const char *code, const char *cure,
			const char *format, ...) __attribute__((format(printf, 4, 5)));

/* Adds a warning; a code that is there already is left alone, as are those beyond the last place. */
void rv_estimate_warn(struct rv_estimate *estimate, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

bool rv_estimate_has_warning(const struct rv_estimate *estimate, const char *code);

/* Adds a source to the budget, unless its u_ratio is 0 or NaN. */
void rv_estimate_budget(struct rv_estimate *estimate, const char *source, char kind, double u_ratio,
			double dof);

#endif
