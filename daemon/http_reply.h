/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Replies with the headers that every one of them carries.
 */
#ifndef RV_DAEMON_HTTP_REPLY_H
#define RV_DAEMON_HTTP_REPLY_H

#include "daemon/http_inner.h"
#include "daemon/page.h"

/* Adds the headers that keep foreign pages out and copies from being kept. */
void rv_http_reply_headers(struct MHD_Response *response);

/* JSON text; the bytes are copied. */
enum MHD_Result rv_http_reply_json(struct MHD_Connection *connection, int status, const char *json,
				   size_t len, const char *allow);
/* An answer of the API; the bytes are copied. */
enum MHD_Result rv_http_reply_api(struct MHD_Connection *connection,
				  const struct rv_api_reply *reply);
enum MHD_Result rv_http_reply_error(struct MHD_Connection *connection, int status,
				    const struct rv_error *error);

/* A file of the page: packed if the client takes that, 304 if it has it already. */
enum MHD_Result rv_http_reply_file(struct MHD_Connection *connection,
				   const struct rv_page_file *file);

#endif
