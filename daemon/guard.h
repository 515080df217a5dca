/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who may ask for what: the rules of the web side as pure functions.
 *
 * Against foreign pages (cross-site requests, names that resolve to this machine): exactly one Host
 * that is this machine's own, an Origin that is our own page, Sec-Fetch-Site (W3C Fetch Metadata)
 * same-origin or none, and bodies that are application/json, which no page can send elsewhere
 * without asking first.  Against others on the network: the key, for everything that changes
 * something.
 */
#ifndef RV_DAEMON_GUARD_H
#define RV_DAEMON_GUARD_H

#include <stddef.h>

#include "core/err.h"

enum { RV_GUARD_BODY = 65536 }; /* longest body, bytes */

/* A request as it came: text fields are NULL when the header is absent; counts say how often it
 * was there. */
struct rv_guard_request {
	const char *method;
	const char *path;
	const char *host, *origin, *fetch_site, *content_type, *content_length;
	int hosts, origins, content_lengths, transfer_encodings;
	bool from_loopback;   /* the other end is this machine */
	const char *at;	      /* address the request came in at, as text: "127.0.0.1", "::1" */
	int port;
};

/* RV_OK: let it in, as far as this goes; the key is judged apart.  Otherwise *status is the HTTP
 * status to answer with and error holds code (tag) and text. */
enum rv_err rv_guard_judge(const struct rv_guard_request *request, int *status,
			   struct rv_error *error);

/* True for POST, PUT, PATCH, DELETE. */
bool rv_guard_changes(const char *method);

/* The address is one of this machine's own that nobody else can reach: 127.0.0.0/8 or ::1, also
 * when written as ::ffff:127.0.0.1. */
bool rv_guard_is_loopback(const char *address);

/* The key is the one that hash (a crypt(3) text) was made from.  Takes the time the hash asks for,
 * whether right or wrong. */
bool rv_guard_key_fits(const char *key, const char *hash);

#endif
