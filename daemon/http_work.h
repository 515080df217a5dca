/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The workers: whatever may wait (a commit, a reading of the record, a key) is computed by them while
 * its connection is suspended, so the stream goes on.
 */
#ifndef RV_DAEMON_HTTP_WORK_H
#define RV_DAEMON_HTTP_WORK_H

#include "daemon/http_inner.h"

/* One worker thread; arg is the struct rv_http.  Ends when closing and nothing is left to do. */
void *rv_http_work(void *arg);

/* Suspends the request's connection and hands the request to a worker.  False: closing, nothing was
 * done. */
bool rv_http_work_ask(struct rv_http *http, struct rv_http_request *request);

#endif
