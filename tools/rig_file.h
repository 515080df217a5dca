/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig file from disk.
 */
#ifndef RV_TOOLS_RIG_FILE_H
#define RV_TOOLS_RIG_FILE_H

#include "core/rig.h"

/* Errors: those of core/rig_read; RV_ERR_SYSTEM when it cannot be read; RV_ERR_RANGE when it is larger
 * than 1 MB (a rig file is some kilobytes). */
enum rv_err rv_rig_file_read(const char *path, struct rv_rig *rig, struct rv_error *error);

/* The same by core/rig_read's rv_rig_read_gear. */
enum rv_err rv_rig_file_read_gear(const char *path, struct rv_rig *rig, struct rv_error *error);

#endif
