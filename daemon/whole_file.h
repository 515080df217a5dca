/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that people write, read at one go.
 */
#ifndef RV_DAEMON_WHOLE_FILE_H
#define RV_DAEMON_WHOLE_FILE_H

#include "core/err.h"

/* The whole of a file of at most 4 MiB, zero-terminated; refuses a zero byte inside.  Caller
 * frees. */
enum rv_err rv_whole_file_read(const char *path, char **text, struct rv_error *error);

#endif
