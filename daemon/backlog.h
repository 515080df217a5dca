/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder's own queue: entries wait here until the commit that holds them has succeeded, so a
 * disk that fails or stalls costs nothing while there is room.  Putting never waits.  The taker is
 * woken for an urgent entry, or when its time has come; not for each message.
 */
#ifndef RV_DAEMON_BACKLOG_H
#define RV_DAEMON_BACKLOG_H

#include <stddef.h>
#include <stdint.h>

#include "daemon/entry.h"

struct rv_backlog;

enum rv_err rv_backlog_new(size_t count, struct rv_backlog **backlog);
void rv_backlog_free(struct rv_backlog *backlog);

/* RV_ERR_AGAIN when full: the entry is not taken, and counted. */
enum rv_err rv_backlog_put(struct rv_backlog *backlog, const struct rv_entry *entry, bool urgent);

/* Waits until deadline_ns, or for an urgent entry if heed_urgent, or until closed.  Returns how many
 * entries wait. */
size_t rv_backlog_wait(struct rv_backlog *backlog, int64_t deadline_ns, bool heed_urgent);

/* Taker only: the i-th waiting entry, the oldest is 0; stays where it is until dropped. */
struct rv_entry *rv_backlog_at(struct rv_backlog *backlog, size_t i);
void rv_backlog_drop(struct rv_backlog *backlog, size_t count);

/* Entries refused since the last call of rv_backlog_take_lost, and since the start. */
uint64_t rv_backlog_take_lost(struct rv_backlog *backlog);
void rv_backlog_give_back_lost(struct rv_backlog *backlog, uint64_t lost); /* not recorded after all */
uint64_t rv_backlog_lost(struct rv_backlog *backlog);

/* Since when there has been something waiting without any being dropped; 0 = nothing waits. */
int64_t rv_backlog_since_ns(struct rv_backlog *backlog);

void rv_backlog_close(struct rv_backlog *backlog);
bool rv_backlog_is_closed(struct rv_backlog *backlog);

#endif
