/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * First pass over the blocks, lines, fittings and cells of a rig file (see core/rig_part.h).
 */
#ifndef RV_CORE_RIG_GEAR_H
#define RV_CORE_RIG_GEAR_H

#include "core/rig_part.h"

/* Each reads one entry of its section and appends it.  There must be room. */
enum rv_err rv_rig_gear_block(const struct rv_yaml_node *entry, struct rv_rig *rig,
			      struct rv_rig_nodes *nodes, struct rv_error *error);
enum rv_err rv_rig_gear_rope(const struct rv_yaml_node *entry, struct rv_rig *rig,
			     struct rv_rig_nodes *nodes, struct rv_error *error);
enum rv_err rv_rig_gear_fitting(const struct rv_yaml_node *entry, struct rv_rig *rig,
				struct rv_rig_nodes *nodes, struct rv_error *error);
enum rv_err rv_rig_gear_cell(const struct rv_yaml_node *entry, struct rv_rig *rig,
			     struct rv_rig_nodes *nodes, struct rv_error *error);

#endif
