/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig on the ground changes hands between the engine, which sets it, and those who look at it.
 */
#ifndef RV_DAEMON_ENGINE_RIG_H
#define RV_DAEMON_ENGINE_RIG_H

#include "daemon/engine_state.h"

/* Once at start: a rig set from the page wins over the station's own. */
void rv_engine_rig_init(struct rv_engine *engine, const struct rv_engine_setup *setup);

/* Another rig lies on the ground from now on; NULL = the station's own again.  An open run ends. */
enum rv_err rv_engine_rig_set(struct rv_engine *engine, struct rv_ground *ground,
			      struct rv_ticket *ticket, struct rv_error *error);

void rv_engine_rig_free(struct rv_engine *engine);

#endif
