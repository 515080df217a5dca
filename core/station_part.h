/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the readers of a station file's sections share.
 */
#ifndef RV_CORE_STATION_PART_H
#define RV_CORE_STATION_PART_H

#include <math.h>

#include "core/form.h"
#include "core/station.h"
#include "core/station_outside.h"

#define RV_NOT_GIVEN ((double)NAN)

/* A station under way. */
struct rv_station_draft {
	struct rv_station station;
	const struct rv_station_outside *outside;
};

/* Bits of rv_station_rule: where a key belongs. */
enum {
	RV_FOR_TCP = 1 << RV_LINK_MODBUS_TCP,
	RV_FOR_RTU = 1 << RV_LINK_MODBUS_RTU,
	RV_FOR_TEXT = 1 << RV_LINK_SERIAL_TEXT,
	RV_FOR_MODBUS = RV_FOR_TCP | RV_FOR_RTU,
	RV_FOR_SERIAL = RV_FOR_RTU | RV_FOR_TEXT,
	RV_FOR_LINKS = RV_FOR_TCP | RV_FOR_RTU | RV_FOR_TEXT,
};

/* A key and the kinds it belongs to, as bits. */
struct rv_station_rule {
	const char *key;
	unsigned kinds;
};

/* One kind: its bit in rv_station_rule, and its name for people ("modbus-tcp"). */
struct rv_station_kind {
	unsigned bit;
	const char *name;
};

/* Refuses keys of the map that do not belong to the kind. */
enum rv_err rv_station_part_belongs(const struct rv_yaml_node *map, const char *what,
				    const struct rv_station_rule *rules, size_t count,
				    struct rv_station_kind kind, struct rv_error *error);

/* Finds the device or channel that a node names; what says where ("device"). */
enum rv_err rv_station_part_device(const struct rv_station *station,
				   const struct rv_yaml_node *node, int *device,
				   struct rv_error *error);
enum rv_err rv_station_part_channel(const struct rv_station *station,
				    const struct rv_yaml_node *node, int *channel,
				    struct rv_error *error);

#endif
