/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the rooms of the web side share.
 *
 * Locks: `lock` guards the frame, the viewers, the connections and the queue.  It is held for copies
 * in memory only, never while something waits, and it is the innermost lock of reeve's own.
 */
#ifndef RV_DAEMON_HTTP_INNER_H
#define RV_DAEMON_HTTP_INNER_H

#include <microhttpd.h>
#include <pthread.h>
#include <stdint.h>

#include "core/text.h"
#include "daemon/api.h"

enum {
	RV_HTTP_CONNECTIONS = 64,
	RV_HTTP_PER_ADDRESS = 16,
	RV_HTTP_VIEWERS = 32, /* streams at once; the other connections stay free for the rest */
	RV_HTTP_WORKERS = 3, /* one of them for changes only */
	RV_HTTP_SEND_BYTES = 16384,	/* socket buffer: more would keep old news for slow clients */
	RV_HTTP_MEMORY_BYTES = 32768,	/* for one connection's headers and replies */
	RV_HTTP_IDLE_S = 10,
	RV_HTTP_STALL_S = 3,   /* a viewer that takes nothing for so long is let go */
	RV_HTTP_REQUEST_S = 5, /* a request must be here whole by then */
};

/* One open connection. */
struct rv_http_connection {
	struct rv_http_connection *next, *before;
	int fd;
	int64_t deadline_ns; /* cut off if its request is not complete by then; INT64_MAX = none due */
	bool from_loopback;
	char peer[64], at[64]; /* both ends as numbers */
};

/* One request under way. */
struct rv_http_request {
	struct rv_http_request *next; /* in the workers' queue */
	struct MHD_Connection *connection;
	struct rv_http_connection *on;
	bool asked, answered;
	bool is_head;
	char *method, *path, *key;
	struct rv_text body;
	struct rv_api_reply reply;
};

/* One client of the stream. */
struct rv_http_viewer {
	struct rv_http_viewer *next, *before;
	struct rv_http *http;
	struct MHD_Connection *connection;
	bool suspended;
	uint64_t version, beat;
	struct rv_text out; /* what is being sent */
	size_t sent;
};

struct rv_http {
	struct rv_api api; /* also the station, the engine and the board */
	struct MHD_Daemon *daemon;
	int port;
	pthread_mutex_t lock;
	pthread_cond_t work;
	bool closing;
	struct rv_http_connection *connections;
	struct rv_http_viewer *viewers;
	int viewer_count;
	struct rv_text frame; /* the newest snapshot as an event of the stream */
	size_t frame_at, frame_len; /* the JSON inside it */
	uint64_t version;     /* of the frame; 0 = none yet */
	int64_t frame_mono_ns;
	struct rv_text beat_text;
	uint64_t beat;
	struct rv_http_request *queue, **queue_end;
	pthread_t herald, worker[RV_HTTP_WORKERS];
	bool herald_runs;
	bool has_changer; /* a worker takes changes only */
	int workers_run;
};

#endif
