/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A played instrument's end of its wire: a TCP port on loopback, or a pseudo-terminal that is found
 * by a stable name in a directory.  Bytes only; what they mean is rehearse_talk's.
 */
#ifndef RV_TOOLS_REHEARSE_WIRE_H
#define RV_TOOLS_REHEARSE_WIRE_H

#include <poll.h>

#include "core/err.h"
#include "tools/rehearse_modbus.h"

enum { RV_REHEARSE_PEERS = 8, RV_REHEARSE_LATER = 32 };

struct rv_rehearse_peer {
	int fd; /* -1 = none */
	unsigned id; /* never the same for two peers */
	bool heard; /* someone has the other end open */
	uint8_t in[2 * RV_REHEARSE_FRAME];
	size_t len;
	double last_s; /* when the last bytes came */
};

/* Bytes to be sent at a time. */
struct rv_rehearse_later {
	bool used;
	unsigned peer;
	double due_s;
	size_t len;
	uint8_t bytes[RV_REHEARSE_FRAME];
};

struct rv_rehearse_wire {
	const struct rv_rehearse_instrument *instrument; /* borrowed */
	int port;	/* TCP */
	char path[512]; /* the others: the symbolic link */
	int listener;	/* -1 = unplugged, or not TCP */
	unsigned peers_ever;
	struct rv_rehearse_peer peer[RV_REHEARSE_PEERS]; /* a pseudo-terminal has one */
	struct rv_rehearse_later later[RV_REHEARSE_LATER];
};

void rv_rehearse_wire_init(struct rv_rehearse_wire *wire,
			   const struct rv_rehearse_instrument *instrument, int port,
			   const char *directory);

/* Plugs it in: listens, or makes the terminal and its link.  A link that stands there already is
 * replaced, anything else is not. */
enum rv_err rv_rehearse_wire_plug(struct rv_rehearse_wire *wire, struct rv_error *error);

/* Pulls it out: port closed, peers dropped, terminal and link gone. */
void rv_rehearse_wire_unplug(struct rv_rehearse_wire *wire);

/* How many bytes sent over a terminal its reader has still to fetch; 0 when nobody listens. */
int rv_rehearse_wire_unread(const struct rv_rehearse_wire *wire);

/* Is it plugged in? */
bool rv_rehearse_wire_is_plugged(const struct rv_rehearse_wire *wire);

/* What to wait on; returns the number of entries filled. */
int rv_rehearse_wire_polls(const struct rv_rehearse_wire *wire, struct pollfd *polls);

/* Takes new peers, notices those that left, reads what came, sends what is due. */
void rv_rehearse_wire_serve(struct rv_rehearse_wire *wire, double now_s);

/* Sends to a peer.  False if the peer did not take all of it. */
bool rv_rehearse_wire_send(struct rv_rehearse_wire *wire, int peer, const void *bytes, size_t len);

/* Keeps bytes for later.  False if too many wait already. */
bool rv_rehearse_wire_send_later(struct rv_rehearse_wire *wire, int peer, const void *bytes,
				 size_t len, double due_s);

/* Drops the first bytes of what a peer sent. */
void rv_rehearse_wire_drop(struct rv_rehearse_peer *peer, size_t len);

#endif
