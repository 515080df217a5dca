/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig as text for people: lines, loads, what is rated and how, what is not, where cells sit.
 */
#ifndef RV_CORE_DESCRIBE_RIG_H
#define RV_CORE_DESCRIBE_RIG_H

#include "core/rig.h"
#include "core/text.h"
#include "core/units.h"

/* Adds the rig, forces in unit. */
void rv_describe_rig(const struct rv_rig *rig, enum rv_force_unit unit, struct rv_text *text);

/* Adds a force in a unit, with its places: "12.50 kN". */
void rv_describe_force(struct rv_text *text, double force_n, enum rv_force_unit unit);

/* Adds a path in the words of the rig file: "drum > eye block > bumper". */
void rv_describe_path(struct rv_text *text, const struct rv_rig *rig, const struct rv_rope *rope);

#endif
