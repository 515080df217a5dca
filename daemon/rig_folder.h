/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig files beside the one that the station names: what can be laid on the ground by name.
 */
#ifndef RV_DAEMON_RIG_FOLDER_H
#define RV_DAEMON_RIG_FOLDER_H

#include "core/text.h"

enum { RV_RIG_FOLDER_FILES = 256, RV_RIG_FOLDER_NAME = 256 };

struct rv_rig_folder {
	int count;
	bool more; /* than can be told */
	char name[RV_RIG_FOLDER_FILES][RV_RIG_FOLDER_NAME]; /* by the alphabet */
};

/* rig_path: of the station's own rig.  RV_ERR_SYSTEM: the folder cannot be read. */
enum rv_err rv_rig_folder_list(const char *rig_path, struct rv_rig_folder *folder,
			       struct rv_error *error);

/* The text of one of these files; caller frees.  RV_ERR_REFUSED, tag not_found: no rig file there has
 * that name; paths, and names that begin with a dot, are none. */
enum rv_err rv_rig_folder_read(const char *rig_path, const char *name, char **text,
			       struct rv_error *error);

#endif
