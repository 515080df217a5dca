/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pulls of a run, found again from its readings by the code that finds them live: motion of the
 * line -> pulls, with the log ratio of the pair of cells that sees most sheaves.
 */
#ifndef RV_SCHEMA_PULLS_H
#define RV_SCHEMA_PULLS_H

#include "core/pull.h"
#include "schema/store.h"

/* What tells the pulls of a run. */
struct rv_pulls_setup {
	int near, far;	/* channels of the pair; -1 = there is none */
	int motion;	/* the channel that tells the motion; -1 = there is none */
	int motion_in, motion_out; /* by switches: contacts for either way, -1 = not wired */
	const char *source; /* "payout", "turns", "switch"; NULL = none */
	struct rv_motion_setup track;
	struct rv_pull_setup pull;
	char why[200]; /* when something is lacking: what */
};

/* Looks at the run's rig and channels.  A run without what it takes is no error: see why. */
enum rv_err rv_pulls_set_up(struct rv_store *store, int64_t number,
			    const struct rv_store_channels *channels, struct rv_pulls_setup *setup,
			    struct rv_error *error);

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
	struct rv_pull_result *found; /* in time order; times in ns from the run's start */
	size_t count, room;
	bool failed; /* memory was refused: found is not whole */
};

void rv_pulls_init(struct rv_pulls *pulls, const struct rv_pulls_setup *setup, int64_t from_us);
void rv_pulls_see(struct rv_pulls *pulls, const struct rv_store_reading *reading);
void rv_pulls_end(struct rv_pulls *pulls); /* the one under way ends with the run */
void rv_pulls_free(struct rv_pulls *pulls);

#endif
