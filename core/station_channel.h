/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The channels of a station file.
 */
#ifndef RV_CORE_STATION_CHANNEL_H
#define RV_CORE_STATION_CHANNEL_H

#include "core/station_part.h"

/* Reads one entry of the section and appends it; the devices must be known, and there must be
 * room. */
enum rv_err rv_station_channel_read(const struct rv_yaml_node *entry,
				    struct rv_station_draft *draft, struct rv_error *error);

#endif
