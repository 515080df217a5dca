/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alarms that are always there, undeclared: measurements lost, frozen, out of range or zeroed;
 * tension lost; a line that creeps; devices lost, outputs failed, no recording.  Says for each
 * whether its condition is true now, how urgent, and in words.  Streaming, time is an argument,
 * nothing is allocated.
 *
 * Names: `CHANNEL lost`, `CHANNEL frozen`, `CHANNEL out of range`, `CHANNEL zeroed`, `LINE tension
 * lost`, `LINE creeps`, `DEVICE lost`, `OUTPUT failed`, `record`.  A tension channel whose cell the
 * rig does not place stands for a line of its own: its own name is put for LINE.
 *
 * Lost: no good or uncertain reading for 1 s (`other`: 3 x every); from the start 3 s.
 * Tension lost: a fall as in core/loss on any cell of the line.  It is true at once where no other
 * live cell of that line stays loaded, else after 0.4 s (cells differ in delay), and for 10 s or
 * until the force is back.
 * Zeroed: a step as in core/loss while another cell of the same line keeps more than 70 % of its
 * force for 0.4 s; true until the reading stands to the others about as it did, or the others have
 * unloaded.
 * Frozen: core/stuck, or what the wire says (`alive`); a frozen channel is not called lost as well.
 * Creeps: core/creep.  A line that no winch is on, and a tension without a place, hold when the
 * only winch holds; with several winches nobody knows.
 *
 * Level: tension lost, creeps, zeroed: danger.  Lost, frozen, out of range: danger
 * when no other live channel guards the same thing, else warning.  A channel named by an alarm rule
 * guards that alone.  A tension is otherwise stood in for by another good tension on the same line,
 * payout and turns of a line by a good tension on it; other quantities guard nothing undeclared.  A
 * device takes the worst of its channels.  A channel that is frozen or zeroed stands in for nothing.
 * Record and outputs: warning.  The level may rise and fall while the condition stands.
 */
#ifndef RV_CORE_GUARDS_H
#define RV_CORE_GUARDS_H

#include "core/conditions.h"
#include "core/creep.h"
#include "core/loss.h"
#include "core/motion.h"
#include "core/rig.h"
#include "core/station.h"
#include "core/stuck.h"

enum rv_guard_kind {
	RV_GUARD_LOST,
	RV_GUARD_FROZEN,
	RV_GUARD_OUT_OF_RANGE,
	RV_GUARD_ZEROED,
	RV_GUARD_TENSION_LOST,
	RV_GUARD_CREEPS,
	RV_GUARD_DEVICE_LOST,
	RV_GUARD_OUTPUT_FAILED,
	RV_GUARD_RECORD,
	RV_GUARD_KINDS
};

enum {
	/* a line for each rope of a rig, and one for each channel without a place */
	RV_GUARD_LINES = RV_RIG_LINES + RV_CHANNELS,
	RV_GUARDS = 4 * RV_CHANNELS + 2 * RV_GUARD_LINES + RV_DEVICES + RV_OUTPUTS + 1,
};

struct rv_guard {
	char name[2 * RV_NAME_SIZE];
	enum rv_guard_kind kind;
	int index; /* of the channel, line, device or output */
	bool is_data; /* tells of lost data: lost, frozen, out of range, device lost.  A zeroed
		       * instrument is no lost data: it hides a load */
	enum rv_alarm_level level;
	bool is_true;
	double value; /* N, m or s as the kind has it; NaN when there is none */
};

struct rv_guard_channel {
	int line;	 /* or -1: no tension, payout or turns */
	int first_guard; /* its guards, in the order of the kinds */
	bool is_tension;
	bool is_ruled; /* an alarm rule names it */
	bool is_live;
	enum rv_quality quality;
	enum rv_cause cause;
	double value;
	int64_t good_ns; /* last good or uncertain reading, or the start */
	double stale_s;
	bool ever;
	struct rv_loss loss;
	struct rv_stuck stuck;
	struct rv_creep_force creep;
	int64_t fell_ns; /* a fall that waits to be told apart; 0 = none */
	bool stepped;
	double fell_from_n;
	double standing_n; /* most of the 0.5 s before a neighbour fell */
	bool is_zeroed;
};

struct rv_guard_line {
	char name[RV_NAME_SIZE];
	int winch;	      /* whose motion holds for it, or -1 */
	bool is_wound;	      /* it is on that winch's drum */
	int first_guard;
	double stiffness_npm; /* EA / length; NaN = not declared */
	struct rv_motion_now now;
	enum rv_motion commanded;
	struct rv_creep_line creep;
	int64_t lost_ns; /* tension lost since; 0 = not */
	double lost_from_n;
	int lost_channel; /* that told of it */
	int creep_channel; /* force that creeps, or -1: it is the line */
};

struct rv_guards {
	const struct rv_station *station; /* borrowed */
	int64_t started_ns;
	struct rv_guard_channel channel[RV_CHANNELS];
	int lines;
	struct rv_guard_line line[RV_GUARD_LINES];
	int guards;
	struct rv_guard guard[RV_GUARDS];
	bool device_lost[RV_DEVICES], output_failed[RV_OUTPUTS], record_fails;
	char device_text[RV_DEVICES][120];
	char output_text[RV_OUTPUTS][120];
	char record_text[120];
};

/* station is borrowed as long as the struct is used; rig (may be NULL) only for the call. */
void rv_guards_init(struct rv_guards *guards, const struct rv_station *station,
		    const struct rv_rig *rig, int64_t mono_ns);

/* Another rig lies on the ground: the list of guards is another.  What is known of channels' noise and
 * of lines is begun anew; what is lost, frozen by the wire or failing stays so, and a channel that is
 * zeroed on a line of the same name. */
void rv_guards_set_rig(struct rv_guards *guards, const struct rv_rig *rig, int64_t mono_ns);

/* The line of a rig in whose path a cell sits or whose force it sees, or -1. */
int rv_guards_line_of_cell(const struct rv_rig *rig, int cell);

/* The line's stiffness where it is known better than EA / length of the whole rope: EA / length
 * reeved.  line counts as in the rig. */
void rv_guards_stiffness(struct rv_guards *guards, int line, double stiffness_npm);

/* A reading of a channel, good or bad.  True if a condition or a level changed. */
bool rv_guards_reading(struct rv_guards *guards, int channel, const struct rv_reading *reading,
		       int64_t mono_ns);

/* What the line of a winch does, at each change and at every tick; commanded as in core/creep.
 * True if a condition changed. */
bool rv_guards_motion(struct rv_guards *guards, int winch, const struct rv_motion_now *now,
		      enum rv_motion commanded, int64_t mono_ns);

/* Time passes: call some 20 times a second.  True if a condition or a level changed. */
bool rv_guards_tick(struct rv_guards *guards, int64_t mono_ns);

/* The reading cannot be believed: frozen by its own noise or its neighbours, or zeroed. */
bool rv_guards_doubts(const struct rv_guards *guards, int channel);

/* Told from outside; text says why, for people. */
void rv_guards_device(struct rv_guards *guards, int device, bool lost, const char *text);
void rv_guards_output(struct rv_guards *guards, int output, bool failed, const char *text);
void rv_guards_record(struct rv_guards *guards, bool failing, const char *text);

/* What there is to say of guard i now, in the station's unit, and what to do about it. */
void rv_guards_text(const struct rv_guards *guards, int i, int64_t mono_ns, char *text, size_t size);
const char *rv_guards_action(const struct rv_guards *guards, int i);
const char *rv_guards_unit(const struct rv_guards *guards, int i); /* of .value: "N", "m", "s" */

#endif
