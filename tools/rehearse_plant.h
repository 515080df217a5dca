/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The physics of a rehearsal: winch, elastic line over sheaves with friction, load.
 *
 * Each leg holds some unstretched line; its tension is stiffness times strain.  At each step the
 * flow of line over every sheave is found so that
 *	tension beyond = tension before * efficiency ^ mobilised
 * where "mobilised" runs from -1 (line running out) to 1 (line coming in) and follows the travel of
 * the line over the sheave: friction has to be turned over before it bites (after P. Dahl, A solid
 * friction model, 1968; from memory, not re-read).  The load is a mass with friction that sticks.
 *
 * Signs: line speeds and payout grow while line leaves the drum; travel of the load grows while it
 * comes; flow over a sheave is positive towards the winch.
 */
#ifndef RV_TOOLS_REHEARSE_PLANT_H
#define RV_TOOLS_REHEARSE_PLANT_H

#include "tools/rehearse_dice.h"
#include "tools/rehearse_script.h"

struct rv_rehearse_sheave {
	double mobilised; /* -1 ... 1 */
	double travel_m;  /* of line towards the winch, since the start */
	double flow_m;	  /* in the last step */
	double log_now;	  /* ln efficiency at this instant, < 0 */
	double scatter, scatter_goal;
	struct rv_rehearse_bumps rope; /* irregularity of what passes */
};

struct rv_rehearse_plant {
	const struct rv_rehearse_scenario *scenario; /* borrowed */
	struct rv_rehearse_dice dice;
	double payout_m, speed_mps;
	double travel_m, load_mps;
	struct rv_rehearse_bumps ground; /* what makes the resistance vary */
	double unstretched_m[RV_REHEARSE_LEGS];
	double tension_n[RV_REHEARSE_LEGS];
	struct rv_rehearse_sheave sheave[RV_REHEARSE_LEGS];
	int last_direction;
	double parted_s; /* time since the line parted; < 0 = whole */
};

/* What acts on the plant from outside during a step. */
struct rv_rehearse_drive {
	double speed_mps; /* of the line at the drum, payout positive */
	bool winch_turns; /* by command: a new pull begins with each change of direction */
	double load_factor; /* on all forces of the load */
};

/* At rest, friction turned neither way, the line carrying what the load pulls back. */
void rv_rehearse_plant_init(struct rv_rehearse_plant *plant,
			    const struct rv_rehearse_scenario *scenario);

void rv_rehearse_plant_step(struct rv_rehearse_plant *plant, struct rv_rehearse_drive drive,
			    double step_s);

/* The line parts: its tension is gone within milliseconds. */
void rv_rehearse_plant_part(struct rv_rehearse_plant *plant);

#endif
