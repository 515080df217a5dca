/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * By which calibrations the cells of an estimate were valued, as far as a reader must know it.
 *
 * Warnings: re_evaluated (other calibrations than those frozen with the run), calibration_past_due
 * (a calibration was past its due date when the readings were taken).
 */
#ifndef RV_SCHEMA_VALUED_H
#define RV_SCHEMA_VALUED_H

#include "core/estimate.h"
#include "schema/session.h"

void rv_valued_say(const struct rv_session *session, int sessions, const struct rv_pulls_ask *ask,
		   struct rv_estimate *estimate);

#endif
