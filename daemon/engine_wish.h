/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a person asks of the engine.  The asking thread hands a wish in by the intake ring, waits
 * until the engine has looked at it, and then for the commit of the entry the engine made of it.
 */
#ifndef RV_DAEMON_ENGINE_WISH_H
#define RV_DAEMON_ENGINE_WISH_H

#include "daemon/engine_state.h"

enum rv_wish_kind {
	RV_WISH_START_RUN,
	RV_WISH_STOP_RUN,
	RV_WISH_MARK,
	RV_WISH_ACKNOWLEDGE,
	RV_WISH_RESET,
	RV_WISH_SET_RIG,
	RV_WISH_STRIKE,
	RV_WISH_STOP_ENGINE,
};

/* Lives on the stack of the thread that asks. */
struct rv_wish {
	enum rv_wish_kind kind;
	const char *name; /* of a run or an alarm */
	const char *text; /* of a mark */
	double travel_m;
	const char *by_whom;
	int64_t number;		  /* of a run */
	const struct rv_store_strike *strike;
	struct rv_ground *ground; /* the engine sets it NULL when it has taken it over */
	struct rv_ticket *ticket; /* carried by the entry it makes */

	pthread_mutex_t lock;
	pthread_cond_t change;
	bool answered;
	bool carried; /* an entry with the ticket was put */
	enum rv_err err;
	struct rv_error error;
};

/* Engine thread: does it and tells the waiting thread. */
void rv_engine_wish_answer(struct rv_engine *engine, struct rv_wish *wish);

/* Another thread: lets the engine finish what has come in before, then leave its loop. */
void rv_engine_wish_stop(struct rv_engine *engine);

#endif
