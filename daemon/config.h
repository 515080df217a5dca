/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The station file and what it names: its calibration files and its rig.  Paths in it are relative
 * to it.  At start any doubt is fatal, so every error names the file and the place.
 */
#ifndef RV_DAEMON_CONFIG_H
#define RV_DAEMON_CONFIG_H

#include "core/station.h"
#include "daemon/ground.h"

struct rv_config {
	char *text; /* the station file as written */
	struct rv_station station;
	char record[RV_PATH_SIZE];   /* as the daemon opens it */
	char rig_path[RV_PATH_SIZE]; /* "" = none */
	struct rv_ground *rig;	     /* NULL = none; rv_config_take_rig makes the caller its owner */
};

/* culprit is the file the error is about: the station, the rig, or a calibration. */
enum rv_err rv_config_load(const char *path, struct rv_config **config, char culprit[RV_PATH_SIZE],
			   struct rv_error *error);
struct rv_ground *rv_config_take_rig(struct rv_config *config);
void rv_config_free(struct rv_config *config);

#endif
