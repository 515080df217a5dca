/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The web side: the page, the live stream, and the door to the API.
 *
 * One thread of the HTTP library serves the page and the stream from memory; a herald thread turns
 * each snapshot into text once and wakes the viewers; two workers compute everything else.  Nothing
 * here is ever waited for by the engine.
 */
#ifndef RV_DAEMON_HTTP_H
#define RV_DAEMON_HTTP_H

#include "core/station.h"
#include "daemon/engine.h"
#include "daemon/live.h"

struct rv_http;

/* All borrowed until rv_http_stop. */
struct rv_http_setup {
	const struct rv_station *station; /* listen and port; port 0 picks a free one */
	const char *station_path;
	const char *record_path;
	const char *rig_path; /* of the station's own rig; "" = none */
	struct rv_live_board *board;
	struct rv_engine *engine;
};

/* RV_ERR_SYSTEM: the address cannot be had; RV_ERR_SYNTAX: it is none. */
enum rv_err rv_http_start(const struct rv_http_setup *setup, struct rv_http **http,
			  struct rv_error *error);

/* Lets everybody go and frees; takes no longer than the longest answer under way (5 s). */
void rv_http_stop(struct rv_http *http);

int rv_http_port(const struct rv_http *http);

#endif
