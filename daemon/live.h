/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The published snapshot of everything that is live.  The engine writes it whole; the page and the
 * outputs read copies.  Plain values; SI; NaN = no value; an index of -1 = none.
 */
#ifndef RV_DAEMON_LIVE_H
#define RV_DAEMON_LIVE_H

#include <stdint.h>

#include "core/alarm.h"
#include "core/predict.h"
#include "core/sample.h"
#include "core/station.h"
#include "daemon/intake.h"

enum { RV_LIVE_ALARMS = 192 };

enum rv_danger { RV_STATE_NORMAL, RV_STATE_WARNING, RV_STATE_DANGER };
/* Where the rig is taken to be: see daemon/engine_geometry. */
enum rv_geometry {
	RV_GEOMETRY_AS_LAID, /* as the rig file declares it */
	RV_GEOMETRY_FOLLOWS, /* where the line moved it */
	RV_GEOMETRY_KEPT,    /* where it was last known */
};

enum rv_data { RV_DATA_ALL, RV_DATA_SOME, RV_DATA_NONE };

struct rv_live_channel {
	double value; /* NaN unless good or uncertain, and fresh */
	double raw;
	enum rv_quality quality;
	enum rv_cause cause;
	double age_s; /* since the last good reading; NaN = never */
	double rate_hz;
	double peak; /* since the run (or the daemon) began; tension channels */
};

struct rv_live_device {
	bool is_open;
	enum rv_fault fault; /* the last one; RV_FAULT_NONE = none since the start */
	int64_t messages;    /* received since the start */
	int64_t lost;	     /* missed since the start, all reasons */
	char text[120];	     /* of the last fault, for people */
};

struct rv_live_rope {
	double payout_m, speed_mps, left_m;
	enum rv_motion motion;
};

struct rv_live_geometry {
	enum rv_geometry state;
	double line_in_m; /* since the rig was laid, as the prediction has it; NaN = as laid */
	char text[400];	  /* why it does not follow; empty when it does */
};

struct rv_live_load {
	struct rv_span load;
	bool is_measured;
};

struct rv_live_cell {
	int channel;		   /* that reads it, or -1 */
	double measured_n;	   /* NaN when not live */
	struct rv_span predicted; /* by the rest of the rig; NaN when there is nothing to go by */
};

struct rv_live_alarm {
	char name[2 * RV_NAME_SIZE];
	enum rv_alarm_level level;
	enum rv_alarm_state state;
	bool is_data; /* tells of lost data, not of load */
	int64_t since_ns; /* of the clock that never steps: in this order they are listed */
	int64_t since_us; /* UTC */
	char text[160];
	char action[2 * RV_NAME_SIZE];
};

struct rv_live {
	uint64_t version;  /* counts publications */
	int64_t mono_ns;   /* when this was made */
	bool clock_trusted;
	bool simulated;
	enum rv_danger state;
	enum rv_data data;
	struct rv_live_channel channel[RV_CHANNELS]; /* as in the station */
	struct rv_live_device device[RV_DEVICES];    /* as in the station */
	struct rv_live_rope winch[RV_RIG_WINCHES]; /* as in the rig: the line of each winch */
	struct rv_live_load component[RV_COMPONENTS]; /* as in the predictor */
	struct rv_live_load leg[RV_RIG_LEGS];
	struct rv_live_cell cell[RV_RIG_CELLS];
	int weakest; /* component, or -1 */
	struct rv_live_geometry geometry;
	struct {
		bool under_way;
		enum rv_motion direction;
		double log_ratio, efficiency_ratio, scatter_ratio, seconds;
		double sheaves_effective;
		int near_cell, far_cell;
	} pull;
	int alarms;
	struct rv_live_alarm alarm[RV_LIVE_ALARMS]; /* all that are not normal, newest first */
	struct {
		int64_t number; /* 0 = no run is open */
		char name[2 * RV_NAME_SIZE];
		int64_t started_us; /* UTC */
	} run;
	struct {
		int64_t readings; /* committed */
		int64_t lost;	  /* messages lost since the start, all reasons */
		int64_t last_commit_mono_ns;
		bool failing;
	} record;
	int rig_number; /* counts rigs set since the start: the page fetches /api/rig anew */
};

struct rv_live_board;

enum rv_err rv_live_new(struct rv_live_board **board);
void rv_live_free(struct rv_live_board *board);

/* Engine only: copies the snapshot in, gives it the next version, wakes all that wait. */
void rv_live_publish(struct rv_live_board *board, const struct rv_live *live);

/* Copies the newest snapshot out (version 0 before the first). */
void rv_live_get(struct rv_live_board *board, struct rv_live *live);

/* Waits until the version is beyond `seen` or deadline_ns has passed; copies out. True if newer. */
bool rv_live_wait(struct rv_live_board *board, uint64_t seen, int64_t deadline_ns,
		  struct rv_live *live);

#endif
