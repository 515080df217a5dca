/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig's prediction follows the line: as line comes in or goes out, legs turn and wraps change,
 * and what a cell says of the other parts with them.
 *
 * What is known is how much line has moved, not where the load is.  So the rig is taken to have lain
 * as its file declares it at the first live payout after it was put on the ground (or after the
 * daemon's start), and from there the load is put where that much line has come in.  Whatever number
 * payout shows does not matter, only its changes do: when a counter restarts or line out is set anew
 * the geometry stays and goes on from there; line that moved unseen meanwhile is not known of.
 *
 * Not followed, so as laid: without a payout channel (turns of the drum tell line only by drum
 * layers, which nobody counts), and with several winches or loads, where one line does not tell
 * where a load is.  Kept as it was last: while payout is not live, and where the declared rig cannot
 * go as far as the line did.  The live snapshot says which.
 */
#ifndef RV_DAEMON_ENGINE_GEOMETRY_H
#define RV_DAEMON_ENGINE_GEOMETRY_H

#include "daemon/engine_state.h"

/* Another rig lies on the ground: as laid. */
void rv_engine_geometry_init(struct rv_engine *engine);

/* Payout of that winch's line stands elsewhere from now on without the line having moved. */
void rv_engine_geometry_restart(struct rv_engine *engine, int winch);

/* Solves anew when enough line has moved, at most half a metre further each time, so that no tick
 * lasts long.  True if coefficients changed. */
bool rv_engine_geometry_tick(struct rv_engine *engine, int64_t mono_ns);

#endif
