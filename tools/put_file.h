/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes a file whole or not at all: what stood there before stays until the new text is on disk.
 */
#ifndef RV_TOOLS_PUT_FILE_H
#define RV_TOOLS_PUT_FILE_H

#include <stddef.h>

#include "core/err.h"

/* Takes the place of a plain file of that name; anything else of that name is refused. */
enum rv_err rv_put_file(const char *path, const char *bytes, size_t len, struct rv_error *error);

#endif
