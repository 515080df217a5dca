/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plays a scenario: physics, cells, instruments and faults, in step with a clock.
 */
#ifndef RV_TOOLS_REHEARSE_STAGE_H
#define RV_TOOLS_REHEARSE_STAGE_H

#include "tools/rehearse_sensor.h"
#include "tools/rehearse_talk.h"

struct rv_rehearse_stage {
	const struct rv_rehearse_scenario *scenario; /* borrowed */
	struct rv_rehearse_plant plant;
	struct rv_rehearse_dice dice;
	struct rv_rehearse_sensor sensor[RV_REHEARSE_CELLS];
	struct rv_rehearse_talker talker[RV_REHEARSE_INSTRUMENTS];
	double next_refresh_s[RV_REHEARSE_INSTRUMENTS];
	uint64_t alive[RV_REHEARSE_INSTRUMENTS][RV_REHEARSE_CELLS + 1]; /* last: the instrument's */
	bool active[RV_REHEARSE_FAULTS];
	uint64_t begun[RV_REHEARSE_FAULTS]; /* times each fault began */
	double now_s;			    /* since the start */
	double round_start_s;
	double skipped_s; /* time this program was held up for, not played */
	int rounds; /* begun */
	bool over;
};

/* What a rehearsal may be told besides its scenario. */
struct rv_rehearse_setup {
	const char *wires; /* directory for the links to the terminals */
	int base_port;	   /* the lowest port of the scenario moves here; 0 = as written */
};

/* Plugs everything in.  On failure all is unplugged again. */
enum rv_err rv_rehearse_stage_open(struct rv_rehearse_stage *stage,
				   const struct rv_rehearse_scenario *scenario,
				   struct rv_rehearse_setup setup, struct rv_error *error);

/* Plays up to that time since the start, answering on the way.  False when the scenario is over. */
bool rv_rehearse_stage_play(struct rv_rehearse_stage *stage, double until_s);

/* What to wait on; room for RV_REHEARSE_INSTRUMENTS * (RV_REHEARSE_PEERS + 1). */
int rv_rehearse_stage_polls(const struct rv_rehearse_stage *stage, struct pollfd *polls);

void rv_rehearse_stage_close(struct rv_rehearse_stage *stage);

#endif
