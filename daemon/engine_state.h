/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the engine knows.  Seen only by the engine's own rooms and touched only by its thread; the
 * one thing that others look at, the rig on the ground, stands behind rig_lock.
 */
#ifndef RV_DAEMON_ENGINE_STATE_H
#define RV_DAEMON_ENGINE_STATE_H

#include <pthread.h>

#include "core/alarm.h"
#include "core/conditions.h"
#include "core/convert.h"
#include "core/guards.h"
#include "core/motion.h"
#include "core/pull.h"
#include "daemon/clock.h"
#include "daemon/engine.h"
#include "daemon/log.h"

/* Every alarm that can be has its place: first the station's own rules, then the guards. */
enum { RV_ENGINE_ALARMS = RV_ALARMS + RV_GUARDS, RV_RETIRED = 16, RV_ENGINE_BATCH = 64 };

struct rv_engine_alarm {
	struct rv_alarm alarm;
	bool is_listed; /* false: no such rule or guard in this station */
	enum rv_alarm_level level;
};

struct rv_engine_channel {
	struct rv_convert convert;
	struct rv_reading last; /* newest reading of any quality */
	int64_t last_ns;	/* when it came; 0 = none yet */
	int64_t good_ns;	/* newest that was good or uncertain; 0 = none yet */
	int64_t rate_from_ns;
	int rate_count;
	double rate_hz;
	double peak;
	enum rv_quality noted_quality; /* as the record knows it */
	enum rv_cause noted_cause;
	double stale_s;
	int cell;  /* in the rig on the ground, or -1 */
	int winch; /* in the rig on the ground, or -1 */
};

/* The line of one winch. */
struct rv_engine_rope {
	struct rv_motion_track track; /* by payout, else by turns */
	int encoder;		      /* channel that feeds it, or -1 */
	struct rv_motion_switch contacts;
	struct rv_motion_now by_switch;
	struct rv_motion_now now; /* the one that counts */
};

/* Where the prediction stands, in line that came in since the rig was laid. */
struct rv_engine_follow {
	bool begun;    /* a live payout came since the rig was laid */
	double laid_m; /* payout when the rig lay as declared; NaN = not known yet */
	double seen_m; /* line in by the last live payout */
	double solved_m, solved_n; /* line in and load that the coefficients are for */
	double refused_m, refused_n; /* the last that could not be solved; NaN = none */
	double threshold_m;
	char why[400];
};

struct rv_engine_device {
	bool is_open;
	int64_t messages, lost;
	enum rv_fault fault; /* the last one */
	char text[120];
	struct rv_entry losing; /* messages lost that the record was not yet told of */
};

struct rv_engine {
	const struct rv_station *station;
	struct rv_recorder *recorder;
	struct rv_live_board *board;
	struct rv_ring *intake;
	struct rv_outputs *outputs;
	struct rv_ground *own_ground; /* the station's, when another lies on the ground */
	pthread_t thread;
	bool stopping;

	pthread_mutex_t rig_lock; /* the four below */
	struct rv_ground *ground; /* NULL = none */
	int rig_number;
	struct rv_ground *retired[RV_RETIRED]; /* replaced while somebody looked at it */
	int lookers;

	struct rv_engine_channel channel[RV_CHANNELS];
	struct rv_engine_device device[RV_DEVICES];
	struct rv_engine_rope rope[RV_RIG_WINCHES];
	int ropes;
	struct rv_conditions conditions;
	struct rv_guards guards;
	struct rv_engine_alarm alarm[RV_ENGINE_ALARMS];
	struct {
		char name[2 * RV_NAME_SIZE];
		struct rv_engine_alarm alarm;
	} was[RV_GUARDS]; /* guards of the rig before, while another is being laid */

	struct rv_engine_follow follow;
	struct rv_loads loads; /* by the good cell nearest the winch */
	int given;	       /* that cell, or -1: nothing is predicted */
	int component_cell[RV_COMPONENTS]; /* the cell that reads just this load, or -1 */
	int leg_cell[RV_RIG_LEGS];
	struct rv_part_load part[RV_COMPONENTS];

	struct rv_pull pull;
	int near, far; /* cells of the pair, or -1 */
	double pull_sheaves;

	int64_t last_run; /* highest number ever used */
	struct {
		int64_t number; /* 0 = none is open */
		char name[2 * RV_NAME_SIZE];
		int64_t from_us; /* row time */
		bool by_itself;
	} run;
	int64_t loaded_ns; /* when a tension was last above runs.open_above; 0 = not yet */
	bool stopped_under_load; /* by hand: no new run until the load has gone once */

	int64_t anchored_us; /* wall clock less row time, as last told to the record */
	bool anchored_trusted; /* and whether it was trusted then */
	struct rv_recorder_state record;
	struct rv_live live;
	bool news;	  /* an alarm changed: publish at once */
	bool ticket_used; /* the wish under way has put an entry with its ticket */
	int64_t tick_ns, second_ns; /* when the next ones are due */
	struct rv_intake batch[RV_ENGINE_BATCH];
};

/* Puts an entry.  What the recorder has no room for it counts and tells by the alarm `record`. */
static inline enum rv_err rv_engine_put(struct rv_engine *engine, const struct rv_entry *entry)
{
	engine->ticket_used |= entry->ticket != NULL;
	return rv_recorder_put(engine->recorder, entry);
}

static inline double rv_engine_seconds(int64_t ns)
{
	return (double)ns / 1e9;
}

#endif
