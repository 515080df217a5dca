/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/guard.h"

#include <crypt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "core/text.h"

enum { HOST_SIZE = 128, KEY_LONGEST = 200 };

bool rv_guard_changes(const char *method)
{
	return strcmp(method, "GET") != 0 && strcmp(method, "HEAD") != 0;
}

bool rv_guard_is_loopback(const char *address)
{
	if (strncasecmp(address, "::ffff:", 7) == 0)
		address += 7;
	return strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0;
}

/* A Host without a port means port 80 (RFC 9110, section 4.2.1). */
static bool host_is(const char *host, const char *name, int port)
{
	char with_port[HOST_SIZE];

	snprintf(with_port, sizeof with_port, "%s:%d", name, port);
	return strcasecmp(host, with_port) == 0 || (port == 80 && strcasecmp(host, name) == 0);
}

static bool host_is_own(const struct rv_guard_request *request)
{
	const char *at = request->at;
	char address[HOST_SIZE];

	if (request->from_loopback && (host_is(request->host, "localhost", request->port) ||
				       host_is(request->host, "127.0.0.1", request->port) ||
				       host_is(request->host, "[::1]", request->port)))
		return true;
	if (strncasecmp(at, "::ffff:", 7) == 0)
		at += 7;
	snprintf(address, sizeof address, strchr(at, ':') ? "[%s]" : "%s", at);
	return host_is(request->host, address, request->port);
}

/* "http://" and the Host this request was sent to, nothing else; "null" is foreign. */
static bool origin_is_own(const struct rv_guard_request *request)
{
	static const char scheme[] = "http://";

	return request->origins == 1 &&
	       strncasecmp(request->origin, scheme, sizeof scheme - 1) == 0 &&
	       strcasecmp(request->origin + sizeof scheme - 1, request->host) == 0;
}

static bool is_json(const char *content_type)
{
	static const char json[] = "application/json";
	size_t len = sizeof json - 1;

	if (!content_type || strncasecmp(content_type, json, len) != 0)
		return false;
	content_type += len;
	content_type += strspn(content_type, " \t");
	return *content_type == '\0' || *content_type == ';';
}

static enum rv_err no(int code, int *status, struct rv_error *error, const char *tag,
		      const char *text)
{
	*status = code;
	return rv_err_refuse(error, tag, "%s", text);
}

static enum rv_err judge_body(const struct rv_guard_request *request, int *status,
			      struct rv_error *error)
{
	int64_t len = 0;

	if (request->transfer_encodings > 0 || request->content_lengths > 1)
		return no(400, status, error, "bad_framing",
			  "send a body with exactly one Content-Length and no Transfer-Encoding");
	if (!rv_guard_changes(request->method)) {
		if (request->content_length && strcmp(request->content_length, "0") != 0)
			return no(400, status, error, "bad_framing", "a GET has no body");
		return RV_OK;
	}
	if (request->content_lengths != 1)
		return no(411, status, error, "length_missing", "say Content-Length");
	if (rv_text_to_int64(request->content_length, &len) != RV_OK || len < 0)
		return no(400, status, error, "bad_framing", "Content-Length is not a number");
	if (len > RV_GUARD_BODY)
		return no(413, status, error, "too_large", "the body is longer than 65536 bytes");
	if (!is_json(request->content_type))
		return no(415, status, error, "not_json",
			  "send the body as Content-Type: application/json");
	return RV_OK;
}

enum rv_err rv_guard_judge(const struct rv_guard_request *request, int *status,
			   struct rv_error *error)
{
	bool is_api = strncmp(request->path, "/api/", 5) == 0;

	if (request->hosts != 1 || !request->host || !host_is_own(request))
		return no(403, status, error, "foreign_host",
			  "the Host is not this station's own address: open the page by its "
			  "number, such as http://127.0.0.1:8750/");
	if (request->origins > 0 && !origin_is_own(request))
		return no(403, status, error, "foreign_origin",
			  "only the station's own page may ask");
	if ((is_api || rv_guard_changes(request->method)) && request->fetch_site &&
	    strcmp(request->fetch_site, "same-origin") != 0 &&
	    strcmp(request->fetch_site, "none") != 0)
		return no(403, status, error, "foreign_site",
			  "only the station's own page may ask");
	return judge_body(request, status, error);
}

bool rv_guard_key_fits(const char *key, const char *hash)
{
	struct crypt_data *work = NULL;
	unsigned differs = 1;

	if (!key || !key[0] || strlen(key) > KEY_LONGEST || hash[0] != '$')
		return false;
	work = calloc(1, sizeof *work);
	const char *got = work ? crypt_r(key, hash, work) : NULL;
	if (got && strlen(got) == strlen(hash)) {
		differs = 0;
		for (size_t i = 0; hash[i]; i++)
			differs |= (unsigned)(unsigned char)hash[i] ^ (unsigned char)got[i];
	}
	if (work)
		explicit_bzero(work, sizeof *work);
	free(work);
	return differs == 0;
}
