/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fills the live snapshot from what the engine knows, and publishes it.
 */
#ifndef RV_DAEMON_ENGINE_PUBLISH_H
#define RV_DAEMON_ENGINE_PUBLISH_H

#include "daemon/engine_state.h"

void rv_engine_publish(struct rv_engine *engine, int64_t mono_ns);

#endif
