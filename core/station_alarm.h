/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alarms and outputs of a station file.
 */
#ifndef RV_CORE_STATION_ALARM_H
#define RV_CORE_STATION_ALARM_H

#include "core/station_part.h"

/* Each reads one entry of its section and appends it; devices and channels must be known, and there
 * must be room. */
enum rv_err rv_station_alarm_read(const struct rv_yaml_node *entry,
				  struct rv_station_draft *draft, struct rv_error *error);
enum rv_err rv_station_output_read(const struct rv_yaml_node *entry,
				   struct rv_station_draft *draft, struct rv_error *error);

#endif
