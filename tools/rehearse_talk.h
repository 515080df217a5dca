/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a played instrument says on its wire: answers to requests, lines of text, and the faults
 * that fall on a message; all of it counted.
 */
#ifndef RV_TOOLS_REHEARSE_TALK_H
#define RV_TOOLS_REHEARSE_TALK_H

#include "tools/rehearse_dice.h"
#include "tools/rehearse_wire.h"

/* Every message is in exactly one of good, refused and faults. */
struct rv_rehearse_tally {
	uint64_t requests; /* Modbus requests and asks that were for this instrument */
	uint64_t messages; /* replies and lines that were due while someone listened */
	uint64_t good;	   /* sent whole, in time, and left alone by their neighbours */
	uint64_t refused;  /* rightly answered with an exception */
	uint64_t faults[RV_REHEARSE_FAULT_KINDS];
	uint64_t spoiled; /* whole lines that ran into a half one before them */
	uint64_t untaken; /* the reader left no room on the wire */
	uint64_t unheard; /* lines with nobody listening: not played */
	uint64_t writes;
	uint64_t endings; /* line ends sent: how many messages a reader of lines sees */
};

struct rv_rehearse_talker {
	const struct rv_rehearse_scenario *scenario; /* borrowed */
	int instrument;
	struct rv_rehearse_dice *dice; /* borrowed */
	struct rv_rehearse_wire wire;
	double shown[RV_REHEARSE_FIELDS]; /* numbers on the wire since the last refresh */
	bool half_open; /* the last line broke off */
	struct rv_rehearse_tally tally;
};

/* The two times of a moment: since the start, and into this round of the timetable. */
struct rv_rehearse_moment {
	double now_s, round_s;
};

/* Is the fault at work? */
bool rv_rehearse_talk_is_active(const struct rv_rehearse_fault *fault, double round_s);

/* Answers whatever requests have come in. */
void rv_rehearse_talk_answer(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at);

/* Says one line of its own accord. */
void rv_rehearse_talk_line(struct rv_rehearse_talker *talker, struct rv_rehearse_moment at);

#endif
