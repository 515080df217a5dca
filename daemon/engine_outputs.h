/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lights and horns follow the alarms.  A light is on while an alarm of its level or above stands or
 * is latched; a sound while such an alarm has not been acknowledged: acknowledging silences it, an
 * alarm that went away unseen does not.
 */
#ifndef RV_DAEMON_ENGINE_OUTPUTS_H
#define RV_DAEMON_ENGINE_OUTPUTS_H

#include "daemon/engine_state.h"

/* After any change of an alarm. */
void rv_engine_outputs_drive(struct rv_engine *engine);

/* From an output's thread: hands its failure to the engine through the intake ring. */
void rv_engine_outputs_tell(void *intake_ring, int output, bool failed, const char *text);

/* Engine thread: takes it. */
void rv_engine_outputs_take(struct rv_engine *engine, const struct rv_intake *intake);

#endif
