/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a channel's raw becomes a value, and what is known of its uncertainty.
 *
 * Exactly one way: "unit" (the device sends it), "scale" with an optional "zero" (raw):
 * value = (raw - zero) x scale, "calibration: FILE", or "metres_per_count" for payout.
 */
#ifndef RV_CORE_STATION_VALUE_H
#define RV_CORE_STATION_VALUE_H

#include "core/station_part.h"

/* The keys of a channel that are read here, kept as nodes.  NULL = not given. */
struct rv_station_value {
	const struct rv_yaml_node *unit, *scale, *zero, *metres_per_count, *calibration;
	const struct rv_yaml_node *gain, *zero_uncertainty, *drift, *travel_uncertainty;
	const struct rv_yaml_node *capacity;
};

/* Fills calibration, unit, wire_unit, capacity and uncertainties of the channel; its quantity and
 * calibration.delay_s (NaN = not given) must be set.  entry: its map. */
enum rv_err rv_station_value_read(const struct rv_yaml_node *entry, const char *what,
				  const struct rv_station_value *value,
				  const struct rv_station_outside *outside,
				  struct rv_channel *channel, struct rv_error *error);

/* How an amount in the channel's unit is written: a force, a length, a plain number. */
enum rv_measure rv_station_value_measure(enum rv_quantity quantity);

#endif
