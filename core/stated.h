/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An uncertainty as a person states it, brought to a standard uncertainty.
 *
 * {standard: 0.3 %}; {expanded: 0.6 %, k: 2} divides by k; {within: 0.5 %} are rectangular limits
 * and divide by sqrt(3) (JCGM 100:2008, 4.3.7; from memory, not re-read).  "of: capacity" makes a
 * share one of full scale; without it a share is of the reading.  An absolute value has the
 * channel's unit.
 */
#ifndef RV_CORE_STATED_H
#define RV_CORE_STATED_H

#include <math.h>

#include "core/quantity.h"
#include "core/station.h"
#include "core/yaml.h"

#define RV_STATED_NOTHING ((struct rv_stated){(double)NAN, (double)NAN})

/* measure: of an absolute value.  capacity: in SI; NaN = not stated, "of: capacity" is refused. */
enum rv_err rv_stated_read(const struct rv_yaml_node *node, enum rv_measure measure,
			   double capacity, struct rv_stated *stated, struct rv_error *error);

/* True if anything was stated. */
bool rv_stated_is_given(const struct rv_stated *stated);

#endif
