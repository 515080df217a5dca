/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The listening socket, and the two ends of a connection.
 */
#ifndef RV_DAEMON_HTTP_LISTEN_H
#define RV_DAEMON_HTTP_LISTEN_H

#include "daemon/http_inner.h"

/* Opens a listening socket on a numeric address (or "localhost"); port 0 picks one.  The caller
 * closes *fd. */
enum rv_err rv_http_listen(const char *address, int port, int *fd, int *got_port,
			   struct rv_error *error);

/* Fills in both ends of an accepted socket, and sets it so that nobody's slowness piles up here. */
void rv_http_listen_accepted(struct rv_http_connection *connection, int fd);

#endif
