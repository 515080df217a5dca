/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where a channel's raw value stands on the wire: register or field, type and order, and what tells
 * that the value is live (alive, good_when, updates).
 */
#ifndef RV_CORE_STATION_WIRE_H
#define RV_CORE_STATION_WIRE_H

#include "core/station_part.h"

/* The keys of a channel that are read here, kept as nodes.  NULL = not given. */
struct rv_station_wire {
	const struct rv_yaml_node *source, *alive, *good_when;
	int bit;  /* -1 = not given */
	int type; /* enum rv_number_type, or -1 */
	int order; /* enum rv_byte_order, or -1 */
};

/* Fills the channel's wire fields; its name, device and quantity must be set.  entry: its map. */
enum rv_err rv_station_wire_read(const struct rv_yaml_node *entry, const char *what,
				 const struct rv_station_wire *wire,
				 const struct rv_station *station, struct rv_channel *channel,
				 struct rv_error *error);

#endif
