/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pulls of a run, found again from its readings by the code that finds them live: motion of the
 * line -> pulls, with the log ratio of the pair of cells that sees most sheaves.
 */
#ifndef RV_SCHEMA_PULLS_H
#define RV_SCHEMA_PULLS_H

#include "core/mark_word.h"
#include "schema/pulls_setup.h"

/* Fed with the run's readings in time order.  About 100 kB. */
struct rv_pulls {
	struct rv_pulls_setup setup;
	int64_t from_us;
	struct rv_motion_track track;
	struct rv_motion_switch contacts;
	struct rv_motion_now by_switch;
	struct rv_pull pull;
	double last; /* payout or turns */
	int64_t last_us;
	int64_t walked_ns; /* by switch and marks: how far the declared speed has been reckoned */
	struct rv_pull_result *found; /* in time order; times in ns from the run's start */
	size_t count, room;
	bool failed; /* memory was refused: found is not whole */
};

void rv_pulls_init(struct rv_pulls *pulls, const struct rv_pulls_setup *setup, int64_t from_us);
void rv_pulls_see(struct rv_pulls *pulls, const struct rv_store_reading *reading);
/* A mark, in time order with the readings: where marks tell the motion. */
void rv_pulls_mark(struct rv_pulls *pulls, enum rv_mark_word word, int64_t t_us);
void rv_pulls_end(struct rv_pulls *pulls); /* the one under way ends with the run */
void rv_pulls_free(struct rv_pulls *pulls);

#endif
