/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files of the page as constant data.  page.c is written by web/embed.py at build time.
 */
#ifndef RV_DAEMON_PAGE_H
#define RV_DAEMON_PAGE_H

#include <stddef.h>

struct rv_page_file {
	const char *path; /* as asked for: "/", "/app.js" */
	const char *type; /* media type */
	const char *tag, *gzip_tag; /* strong entity tags with their quotes; they differ */
	const unsigned char *bytes;
	size_t len;
	const unsigned char *gzip; /* NULL where packing gains nothing */
	size_t gzip_len;
};

/* The file at path, or NULL. */
const struct rv_page_file *rv_page_find(const char *path);

#endif
