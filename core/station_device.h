/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The devices of a station file.
 */
#ifndef RV_CORE_STATION_DEVICE_H
#define RV_CORE_STATION_DEVICE_H

#include "core/station_part.h"

/* Reads one entry of the section and appends it.  There must be room. */
enum rv_err rv_station_device_read(const struct rv_yaml_node *entry,
				   struct rv_station_draft *draft, struct rv_error *error);

#endif
