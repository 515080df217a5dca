/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig on the ground: its text as written, what it declares, and what it predicts.
 */
#ifndef RV_DAEMON_GROUND_H
#define RV_DAEMON_GROUND_H

#include "core/predict.h"
#include "core/rig.h"

struct rv_ground {
	char *text; /* the rig file as written: kept with each run */
	struct rv_rig rig;
	struct rv_predictor *predictor; /* as laid, for whoever looks; NULL when the rig cannot be
					 * solved: why says so */
	struct rv_predictor *moving;	/* follows the line: the engine's alone.  NULL as predictor */
	bool moved;			/* it is not as laid */
	char why[400];
};

/* Reads and solves a rig.  A rig that reads but cannot be solved is on the ground all the same:
 * its cells are shown and logged, nothing is predicted. */
enum rv_err rv_ground_from_text(const char *text, struct rv_ground **ground,
				struct rv_error *error);
void rv_ground_free(struct rv_ground *ground);

#endif
