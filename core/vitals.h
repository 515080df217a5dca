/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is the value that just came a live reading of its channel?  Judges one channel's value by what
 * came with it: the gateway's sign of life (`alive`), the instrument's own status word
 * (`good_when`), the unit the message names, and the instrument's own rate (`updates`).
 *
 * A sign of life must change within `changes_within`; its clock starts at the first sight and is
 * not started anew when the wire is opened again, so a dead cell behind a flapping gateway stays
 * frozen.  Times are int64 nanoseconds of one monotonic clock, given by the caller.
 */
#ifndef RV_CORE_VITALS_H
#define RV_CORE_VITALS_H

#include <stddef.h>
#include <stdint.h>

#include "core/sample.h"
#include "core/station.h"

/* What is remembered of one channel.  Start with {0}. */
struct rv_vitals {
	bool has_alive, has_last;
	uint64_t alive_mark;	  /* of the last sign of life */
	int64_t alive_changed_ns; /* when it last was another one */
	struct rv_raw last;	  /* the last new reading */
	int64_t last_new_ns;
};

/* A piece of the message; bytes NULL = the message did not hold it. */
struct rv_vitals_piece {
	const void *bytes;
	size_t len;
};

struct rv_vitals_seen {
	struct rv_vitals_piece alive;  /* any bytes: only whether they change counts */
	struct rv_vitals_piece status; /* the good_when group */
	struct rv_vitals_piece unit;   /* unit named in the message */
	bool is_number;		       /* false: what came is no number, or NaN or infinite */
};

/* Fills quality and cause of value, whose raw is set.  The first that applies:
 *   not a number              bad, NOT_A_NUMBER (raw becomes NONE)
 *   another unit named        bad, UNIT (letters' case and blanks around it do not count)
 *   status not among the words, or missing   bad, STATUS
 *   sign of life too old      bad, FROZEN
 *   equal to the last new reading and sooner than the instrument measures
 *                             raw becomes NONE, quality good: no reading in this message
 *   otherwise                 good
 * A value whose raw is NONE although is_number is set stays: no reading. */
void rv_vitals_judge(struct rv_vitals *vitals, const struct rv_channel *channel,
		     const struct rv_vitals_seen *seen, int64_t mono_ns, struct rv_value *value);

#endif
