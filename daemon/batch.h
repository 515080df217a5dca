/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One transaction of the recorder: the oldest entries of the backlog, all of them or none.
 */
#ifndef RV_DAEMON_BATCH_H
#define RV_DAEMON_BATCH_H

#include "daemon/backlog.h"
#include "daemon/ledger.h"

enum { RV_BATCH_ROOM = 16384 };

struct rv_batch {
	size_t count;	 /* entries in it */
	uint64_t lost;	 /* entries the backlog had no room for, to be told with it */
	bool keep_count; /* note the number of readings too */
	int64_t readings; /* that it brought, after rv_batch_write */
	uint32_t order[RV_BATCH_ROOM];
	enum rv_err result[RV_BATCH_ROOM];
};

/* Writes and commits.  On failure nothing of it is in the record, and the entries still wait. */
enum rv_err rv_batch_write(struct rv_batch *batch, struct rv_ledger *ledger,
			   struct rv_backlog *backlog, struct rv_error *error);

/* After the commit: completes tickets, notes what holds, drops the entries. */
void rv_batch_finish(struct rv_batch *batch, struct rv_ledger *ledger, struct rv_backlog *backlog);

#endif
