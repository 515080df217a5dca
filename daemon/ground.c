/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/ground.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/rig_read.h"

enum rv_err rv_ground_from_text(const char *text, struct rv_ground **ground, struct rv_error *error)
{
	struct rv_ground *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for a rig");
	enum rv_err err = rv_rig_read(text, strlen(text), &made->rig, error);
	if (err != RV_OK) {
		free(made);
		return err;
	}
	made->text = strdup(text);
	if (!made->text) {
		free(made);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for a rig");
	}
	struct rv_error why = {0};
	if (rv_predictor_new(&made->rig, &made->predictor, &why) != RV_OK ||
	    rv_predictor_new(&made->rig, &made->moving, &why) != RV_OK) {
		snprintf(made->why, sizeof made->why, "%s", why.text);
		rv_predictor_free(made->predictor);
		made->predictor = NULL;
	}
	*ground = made;
	return RV_OK;
}

void rv_ground_free(struct rv_ground *ground)
{
	if (!ground)
		return;
	rv_predictor_free(ground->predictor);
	rv_predictor_free(ground->moving);
	free(ground->text);
	free(ground);
}
