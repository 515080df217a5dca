/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http_reply.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static void add(struct MHD_Response *response, const char *name, const char *value)
{
	/* Fails only for want of memory; the reply then goes out without. */
	(void)MHD_add_response_header(response, name, value);
}

void rv_http_reply_headers(struct MHD_Response *response)
{
	add(response, "Content-Security-Policy",
	    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
	    "connect-src 'self'; font-src 'self'; object-src 'none'; base-uri 'none'; "
	    "form-action 'none'; frame-ancestors 'none'");
	add(response, "X-Content-Type-Options", "nosniff");
	add(response, "X-Frame-Options", "DENY");
	add(response, "Referrer-Policy", "no-referrer");
	add(response, "Cross-Origin-Resource-Policy", "same-origin");
	add(response, "Cross-Origin-Opener-Policy", "same-origin");
}

static enum MHD_Result queue(struct MHD_Connection *connection, int status,
			     struct MHD_Response *response)
{
	enum MHD_Result result = MHD_queue_response(connection, (unsigned)status, response);

	MHD_destroy_response(response);
	return result;
}

static enum MHD_Result reply_text(struct MHD_Connection *connection, int status, const char *type,
				  const char *text, size_t len, const char *allow)
{
	char *copy = malloc(len + 1);
	struct MHD_Response *response = NULL;

	if (!copy)
		return MHD_NO;
	if (len > 0)
		memcpy(copy, text, len);
	response = MHD_create_response_from_buffer(len, copy, MHD_RESPMEM_MUST_FREE);
	if (!response) {
		free(copy);
		return MHD_NO;
	}
	rv_http_reply_headers(response);
	add(response, "Content-Type", type);
	add(response, "Cache-Control", "no-store");
	if (allow)
		add(response, "Allow", allow);
	return queue(connection, status, response);
}

enum MHD_Result rv_http_reply_json(struct MHD_Connection *connection, int status, const char *json,
				   size_t len, const char *allow)
{
	return reply_text(connection, status, "application/json", json, len, allow);
}

enum MHD_Result rv_http_reply_api(struct MHD_Connection *connection,
				  const struct rv_api_reply *reply)
{
	return reply_text(connection, reply->status, reply->type, reply->body.data, reply->body.len,
			  reply->allow);
}

enum MHD_Result rv_http_reply_error(struct MHD_Connection *connection, int status,
				    const struct rv_error *error)
{
	struct rv_api_reply reply = {0};

	rv_api_error(status, error, &reply);
	enum MHD_Result result =
	    rv_http_reply_json(connection, status, reply.body.data, reply.body.len, NULL);
	rv_text_free(&reply.body);
	return result;
}

/* One word of Accept-Encoding with its weight: is it gzip (or *), and not weighed zero? */
static bool takes_gzip_word(const char *word, size_t len)
{
	static const char weight[] = "q=";
	size_t name = strcspn(word, " \t;,");
	const char *q = NULL;

	if (name > len)
		name = len;
	if (!(name == 4 && strncasecmp(word, "gzip", 4) == 0) && !(name == 1 && *word == '*'))
		return false;
	for (const char *at = word + name; at + 2 <= word + len; at++)
		if (strncasecmp(at, weight, 2) == 0)
			q = at + 2;
	return !q || strtod(q, NULL) > 0.0;
}

static bool takes_gzip(const char *accepts)
{
	while (accepts && *accepts) {
		accepts += strspn(accepts, " \t,");
		size_t len = strcspn(accepts, ",");
		if (takes_gzip_word(accepts, len))
			return true;
		accepts += len;
	}
	return false;
}

static bool has_already(struct MHD_Connection *connection, const char *tag)
{
	const char *had = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "If-None-Match");

	return had && strstr(had, tag) != NULL;
}

/* The data are constant: the library takes them unchanged although its parameter is not const. */
static struct MHD_Response *constant(const unsigned char *bytes, size_t len)
{
	return MHD_create_response_from_buffer(len, (void *)(uintptr_t)bytes,
					       MHD_RESPMEM_PERSISTENT);
}

enum MHD_Result rv_http_reply_file(struct MHD_Connection *connection,
				   const struct rv_page_file *file)
{
	const char *accepts =
	    MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Accept-Encoding");
	bool packed = file->gzip && takes_gzip(accepts);
	const char *tag = packed ? file->gzip_tag : file->tag;
	bool had = has_already(connection, tag);
	struct MHD_Response *response = NULL;

	if (had)
		response = constant(file->bytes, 0);
	else
		response = packed ? constant(file->gzip, file->gzip_len)
				  : constant(file->bytes, file->len);
	if (!response)
		return MHD_NO;
	rv_http_reply_headers(response);
	add(response, "ETag", tag);
	add(response, "Vary", "Accept-Encoding");
	add(response, "Cache-Control", "no-cache");
	if (!had) {
		add(response, "Content-Type", file->type);
		if (packed)
			add(response, "Content-Encoding", "gzip");
	}
	return queue(connection, had ? 304 : 200, response);
}
