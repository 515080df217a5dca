/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file from disk into memory, whole.
 */
#ifndef RV_TOOLS_TAKE_FILE_H
#define RV_TOOLS_TAKE_FILE_H

#include <stddef.h>

#include "core/err.h"

/* At most so many megabytes.  The text is the caller's to free and not closed by a zero byte.
 * RV_ERR_SYSTEM, RV_ERR_RANGE when it is larger. */
enum rv_err rv_take_file(const char *path, int most_mb, char **text, size_t *len,
			 struct rv_error *error);

#endif
