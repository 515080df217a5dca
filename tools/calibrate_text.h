/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A calibration for people, on stdout.
 */
#ifndef RV_TOOLS_CALIBRATE_TEXT_H
#define RV_TOOLS_CALIBRATE_TEXT_H

#include "core/calibrate.h"

void rv_calibrate_text_print(const struct rv_applied *applied,
			     const struct rv_calibrate *calibrate);

#endif
