/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Somebody waits for a commit.  A ticket has two shares, the waiter's and the recorder's; whoever
 * lets go last frees it.
 */
#ifndef RV_DAEMON_TICKET_H
#define RV_DAEMON_TICKET_H

#include <stdint.h>

#include "core/err.h"

struct rv_ticket;

enum rv_err rv_ticket_new(struct rv_ticket **ticket);

/* RV_OK: committed.  RV_ERR_REFUSED: the record does not take this entry (a name used before, no
 * such run).  RV_ERR_STORE: it failed for good (ring full, recorder stopped).  RV_ERR_AGAIN: not
 * yet, at deadline_ns.  Lets go of the waiter's share. */
enum rv_err rv_ticket_wait(struct rv_ticket *ticket, int64_t deadline_ns);

/* The waiter gives up a ticket that no entry ever carried.  NULL is fine. */
void rv_ticket_drop(struct rv_ticket *ticket);

/* The recorder's side: says how it went and lets go of its share.  NULL is fine. */
void rv_ticket_complete(struct rv_ticket *ticket, enum rv_err result);

#endif
