/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_wire.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

void rv_rehearse_wire_init(struct rv_rehearse_wire *wire,
			   const struct rv_rehearse_instrument *instrument, int port,
			   const char *directory)
{
	memset(wire, 0, sizeof *wire);
	wire->instrument = instrument;
	wire->port = port;
	wire->listener = -1;
	if (instrument->link != RV_REHEARSE_TCP)
		snprintf(wire->path, sizeof wire->path, "%s/%s", directory, instrument->wire);
	for (int i = 0; i < RV_REHEARSE_PEERS; i++)
		wire->peer[i].fd = -1;
}

static void add_peer(struct rv_rehearse_wire *wire, int index, int fd)
{
	struct rv_rehearse_peer *peer = &wire->peer[index];

	memset(peer, 0, sizeof *peer);
	peer->fd = fd;
	peer->id = ++wire->peers_ever;
	peer->heard = wire->instrument->link == RV_REHEARSE_TCP;
}

static void drop_peer(struct rv_rehearse_peer *peer)
{
	close(peer->fd);
	peer->fd = -1;
	peer->heard = false;
	peer->len = 0;
}

static enum rv_err listen_on(struct rv_rehearse_wire *wire, struct rv_error *error)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_port = htons((uint16_t)wire->port)};
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
	int yes = 1;

	at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
	if (fd < 0 || setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) < 0 ||
	    bind(fd, (struct sockaddr *)&at, sizeof at) < 0 || listen(fd, RV_REHEARSE_PEERS) < 0) {
		enum rv_err err =
		    rv_err_set(error, RV_ERR_SYSTEM, "port %d on 127.0.0.1: %m", wire->port);
		if (fd >= 0)
			close(fd);
		return err;
	}
	wire->listener = fd;
	return RV_OK;
}

/* The terminal starts raw, so nothing echoes before a reader has set it up. */
static bool make_raw(int master, const char *name)
{
	struct termios raw;

	if (tcgetattr(master, &raw) < 0)
		return false;
	cfmakeraw(&raw);
	if (tcsetattr(master, TCSANOW, &raw) < 0)
		return false;
	/* A terminal that was never opened does not tell whether anyone listens: open it once. */
	int slave = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
	if (slave < 0)
		return false;
	close(slave);
	return true;
}

static bool is_ours_to_replace(const char *path)
{
	struct stat found;
	return lstat(path, &found) < 0 ? errno == ENOENT : S_ISLNK(found.st_mode);
}

static enum rv_err make_terminal(struct rv_rehearse_wire *wire, struct rv_error *error)
{
	char name[128], fresh[sizeof wire->path + 8];
	int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);

	snprintf(fresh, sizeof fresh, "%s.new", wire->path);
	if (master < 0 || grantpt(master) < 0 || unlockpt(master) < 0 ||
	    ptsname_r(master, name, sizeof name) != 0 || !make_raw(master, name))
		goto failed;
	if (!is_ours_to_replace(wire->path)) {
		errno = EEXIST;
		goto failed;
	}
	unlink(fresh);
	if (symlink(name, fresh) < 0 || rename(fresh, wire->path) < 0)
		goto failed;
	add_peer(wire, 0, master);
	return RV_OK;
failed:;
	enum rv_err err = rv_err_set(error, RV_ERR_SYSTEM, "wire %s: %m", wire->path);
	if (master >= 0)
		close(master);
	return err;
}

enum rv_err rv_rehearse_wire_plug(struct rv_rehearse_wire *wire, struct rv_error *error)
{
	if (wire->instrument->link == RV_REHEARSE_TCP)
		return listen_on(wire, error);
	return make_terminal(wire, error);
}

void rv_rehearse_wire_unplug(struct rv_rehearse_wire *wire)
{
	if (!rv_rehearse_wire_is_plugged(wire))
		return;
	if (wire->listener >= 0)
		close(wire->listener);
	else
		unlink(wire->path);
	wire->listener = -1;
	for (int i = 0; i < RV_REHEARSE_PEERS; i++)
		if (wire->peer[i].fd >= 0)
			drop_peer(&wire->peer[i]);
	memset(wire->later, 0, sizeof wire->later);
}

int rv_rehearse_wire_unread(const struct rv_rehearse_wire *wire)
{
	char name[128];
	int waiting = 0;

	if (wire->listener >= 0 || !wire->peer[0].heard ||
	    ptsname_r(wire->peer[0].fd, name, sizeof name) != 0)
		return 0;
	/* Only the reader's side knows. */
	int slave = open(name, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (slave < 0)
		return 0;
	if (ioctl(slave, FIONREAD, &waiting) < 0)
		waiting = 0;
	close(slave);
	return waiting;
}

bool rv_rehearse_wire_is_plugged(const struct rv_rehearse_wire *wire)
{
	if (wire->instrument->link == RV_REHEARSE_TCP)
		return wire->listener >= 0;
	return wire->peer[0].fd >= 0;
}

int rv_rehearse_wire_polls(const struct rv_rehearse_wire *wire, struct pollfd *polls)
{
	int count = 0;

	if (wire->listener >= 0)
		polls[count++] = (struct pollfd){.fd = wire->listener, .events = POLLIN};
	/* A terminal nobody has open would wake us for ever. */
	for (int i = 0; i < RV_REHEARSE_PEERS; i++)
		if (wire->peer[i].fd >= 0 && wire->peer[i].heard)
			polls[count++] = (struct pollfd){.fd = wire->peer[i].fd, .events = POLLIN};
	return count;
}

static void take_peers(struct rv_rehearse_wire *wire)
{
	int yes = 1;

	for (int i = 0; i < RV_REHEARSE_PEERS && wire->listener >= 0; i++) {
		if (wire->peer[i].fd >= 0)
			continue;
		int fd = accept4(wire->listener, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
		if (fd < 0)
			return;
		(void)setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
		add_peer(wire, i, fd);
	}
}

static void read_peer(struct rv_rehearse_wire *wire, struct rv_rehearse_peer *peer, double now_s)
{
	if (wire->instrument->link != RV_REHEARSE_TCP) {
		struct pollfd look = {.fd = peer->fd, .events = POLLIN};
		bool heard = poll(&look, 1, 0) >= 0 && !(look.revents & POLLHUP);
		if (heard && !peer->heard)
			peer->len = 0;
		peer->heard = heard;
		if (!(look.revents & POLLIN))
			return;
	}
	ssize_t got = read(peer->fd, peer->in + peer->len, sizeof peer->in - peer->len);
	if (got > 0) {
		peer->len += (size_t)got;
		peer->last_s = now_s;
	} else if (wire->instrument->link == RV_REHEARSE_TCP &&
		   (got == 0 ? peer->len < sizeof peer->in : errno != EAGAIN && errno != EINTR)) {
		drop_peer(peer);
	}
}

bool rv_rehearse_wire_send(struct rv_rehearse_wire *wire, int peer, const void *bytes, size_t len)
{
	struct rv_rehearse_peer *to = &wire->peer[peer];

	if (to->fd < 0 || !to->heard)
		return false;
	if (wire->instrument->link == RV_REHEARSE_TCP)
		return send(to->fd, bytes, len, MSG_NOSIGNAL) == (ssize_t)len;
	return write(to->fd, bytes, len) == (ssize_t)len;
}

bool rv_rehearse_wire_send_later(struct rv_rehearse_wire *wire, int peer, const void *bytes,
				 size_t len, double due_s)
{
	for (int i = 0; i < RV_REHEARSE_LATER; i++) {
		struct rv_rehearse_later *later = &wire->later[i];
		if (later->used || len > sizeof later->bytes)
			continue;
		*later = (struct rv_rehearse_later){
		    .used = true, .peer = wire->peer[peer].id, .due_s = due_s, .len = len};
		memcpy(later->bytes, bytes, len);
		return true;
	}
	return false;
}

static void send_due(struct rv_rehearse_wire *wire, double now_s)
{
	for (int i = 0; i < RV_REHEARSE_LATER; i++) {
		struct rv_rehearse_later *later = &wire->later[i];
		if (!later->used || later->due_s > now_s)
			continue;
		later->used = false;
		for (int k = 0; k < RV_REHEARSE_PEERS; k++)
			if (wire->peer[k].id == later->peer)
				(void)rv_rehearse_wire_send(wire, k, later->bytes, later->len);
	}
}

void rv_rehearse_wire_serve(struct rv_rehearse_wire *wire, double now_s)
{
	take_peers(wire);
	send_due(wire, now_s);
	for (int i = 0; i < RV_REHEARSE_PEERS; i++)
		if (wire->peer[i].fd >= 0)
			read_peer(wire, &wire->peer[i], now_s);
}

void rv_rehearse_wire_drop(struct rv_rehearse_peer *peer, size_t len)
{
	if (len > peer->len)
		len = peer->len;
	peer->len -= len;
	memmove(peer->in, peer->in + len, peer->len);
}
