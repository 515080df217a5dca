/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One run read for an estimate: its rig solved, its cells chosen, its pulls as facts.
 */
#ifndef RV_SCHEMA_SESSION_H
#define RV_SCHEMA_SESSION_H

#include "core/agreement.h"
#include "core/facts.h"
#include "core/predict.h"
#include "schema/pulls.h"

enum { RV_SESSION_STRETCHES = 128 };

struct rv_session {
	struct rv_store_run run;
	char ended[RV_UTC_SIZE];	   /* UTC of its end, or of its newest reading */
	struct rv_store_channels channels; /* recalibrated, where that was asked for */
	struct rv_rig *rig;		/* owned; NULL: declared without one */
	struct rv_predictor *predictor; /* owned; NULL: the rig cannot be solved */
	struct rv_pulls_setup setup;
	double lag_s;	/* by which the far cell was found late; NaN: none found */
	bool lag_taken; /* it was taken off; else the declared delays stand as they are */
	bool moves;	/* a mark says that cells were exchanged inside the run */
	struct rv_facts facts;
	struct rv_store_strike *strike; /* owned: what was said of its pulls, which borrow the reasons */
	size_t strikes;
	/* of kept hauls, by a travel channel; without one between marks that say a travelled distance */
	int stretches;
	struct rv_agreement_stretch stretch[RV_SESSION_STRETCHES];
	bool by_marks; /* the stretches end at marks, set down by hand */
	char lacks[240]; /* why it has no facts; "" = it has what it takes */
};

/* position: of the run among those given.  A run that lacks something is no error: see lacks.
 * RV_ERR_REFUSED run_unknown, name_unknown, those of schema/recalibrate; RV_ERR_STORE, RV_ERR_NOMEM.  Close with
 * rv_session_close also after a failure. */
enum rv_err rv_session_read(struct rv_store *store, int64_t number, int position,
			    const struct rv_pulls_ask *ask, struct rv_session *session,
			    struct rv_error *error);
void rv_session_close(struct rv_session *session);

/* What is stated of the cell that a channel reads. */
struct rv_estimate_cell rv_session_cell(const struct rv_session *session, int channel);

#endif
