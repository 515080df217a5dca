/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http_listen.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { WAITING = 32, UNSENT_MS = 5000 };

static int port_of(int fd)
{
	struct sockaddr_storage at;
	socklen_t len = sizeof at;

	memset(&at, 0, sizeof at);
	if (getsockname(fd, (struct sockaddr *)&at, &len) != 0)
		return 0;
	if (at.ss_family == AF_INET6)
		return ntohs(((const struct sockaddr_in6 *)(const void *)&at)->sin6_port);
	return ntohs(((const struct sockaddr_in *)(const void *)&at)->sin_port);
}

static enum rv_err system_error(struct rv_error *error, const char *address, int port)
{
	int why = errno;

	(void)rv_err_set(error, RV_ERR_SYSTEM, "cannot listen on %s port %d: %m", address, port);
	if (error)
		error->sys_errno = why;
	return RV_ERR_SYSTEM;
}

enum rv_err rv_http_listen(const char *address, int port, int *fd, int *got_port,
			   struct rv_error *error)
{
	struct addrinfo wanted = {.ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE,
				  .ai_socktype = SOCK_STREAM};
	struct addrinfo *found = NULL;
	char service[16];
	int yes = 1;

	snprintf(service, sizeof service, "%d", port);
	const char *number = strcmp(address, "localhost") == 0 ? "127.0.0.1" : address;
	if (getaddrinfo(number, service, &wanted, &found) != 0)
		return rv_err_set(error, RV_ERR_SYNTAX,
				  "\"%s\" is no address to listen on: write one of this machine's "
				  "own addresses in numbers, such as 127.0.0.1",
				  address);
	int made = socket(found->ai_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (made < 0 || setsockopt(made, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) != 0 ||
	    bind(made, found->ai_addr, found->ai_addrlen) != 0 || listen(made, WAITING) != 0) {
		enum rv_err err = system_error(error, address, port);
		freeaddrinfo(found);
		if (made >= 0)
			close(made);
		return err;
	}
	freeaddrinfo(found);
	*fd = made;
	*got_port = port_of(made);
	return RV_OK;
}

static void number_of(const struct sockaddr_storage *end, char *text, size_t size)
{
	const void *address =
	    end->ss_family == AF_INET6
		? (const void *)&((const struct sockaddr_in6 *)(const void *)end)->sin6_addr
		: (const void *)&((const struct sockaddr_in *)(const void *)end)->sin_addr;

	if (!inet_ntop(end->ss_family, address, text, (socklen_t)size))
		text[0] = '\0';
}

void rv_http_listen_accepted(struct rv_http_connection *connection, int fd)
{
	struct sockaddr_storage end;
	socklen_t len = sizeof end;
	int yes = 1, bytes = RV_HTTP_SEND_BYTES;
	unsigned unsent_ms = UNSENT_MS;

	connection->fd = fd;
	memset(&end, 0, sizeof end);
	if (getpeername(fd, (struct sockaddr *)&end, &len) == 0)
		number_of(&end, connection->peer, sizeof connection->peer);
	len = sizeof end;
	memset(&end, 0, sizeof end);
	if (getsockname(fd, (struct sockaddr *)&end, &len) == 0)
		number_of(&end, connection->at, sizeof connection->at);
	/* These make a slow client be noticed sooner; a socket that refuses them still works. */
	(void)setsockopt(fd, SOL_SOCKET, SO_SNDBUF, &bytes, sizeof bytes);
	(void)setsockopt(fd, SOL_SOCKET, SO_KEEPALIVE, &yes, sizeof yes);
	(void)setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
	(void)setsockopt(fd, IPPROTO_TCP, TCP_USER_TIMEOUT, &unsent_ms, sizeof unsent_ms);
}
