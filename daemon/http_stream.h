/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The live stream (Server-Sent Events): one frame of text for each snapshot, shared by all viewers.
 * A viewer that is slow gets the newest frame next, never a backlog.
 */
#ifndef RV_DAEMON_HTTP_STREAM_H
#define RV_DAEMON_HTTP_STREAM_H

#include "daemon/http_inner.h"

/* The herald thread: waits for snapshots, renders them (20 a second at most; a change of alarms at
 * once), beats each 500 ms, wakes the viewers, and cuts off connections that never finish asking.
 * arg is the struct rv_http. */
void *rv_http_stream_herald(void *arg);

/* Answers GET /api/stream. */
enum MHD_Result rv_http_stream_open(struct rv_http *http, struct MHD_Connection *connection);

/* Lets all viewers go; call with http->closing set, before the library is stopped. */
void rv_http_stream_release(struct rv_http *http);

#endif
