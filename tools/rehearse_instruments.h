/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The part of a scenario file that says which instruments show the truth, over which wires.
 */
#ifndef RV_TOOLS_REHEARSE_INSTRUMENTS_H
#define RV_TOOLS_REHEARSE_INSTRUMENTS_H

#include "tools/rehearse_script.h"
#include "tools/rehearse_yaml.h"

/* Reads the map of instruments into the scenario, whose cells are read already.  A fault is kept
 * in yaml. */
void rv_rehearse_instruments_read(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
				  struct rv_rehearse_scenario *scenario);

#endif
