/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A load cell of a rehearsal: sum of legs, dead time, filter, gain error, offset, noise, steps.
 */
#ifndef RV_TOOLS_REHEARSE_SENSOR_H
#define RV_TOOLS_REHEARSE_SENSOR_H

#include "tools/rehearse_plant.h"

enum { RV_REHEARSE_DELAY_STEPS = 2001 }; /* 1 s at the shortest step */

struct rv_rehearse_sensor {
	const struct rv_rehearse_cell *cell; /* borrowed */
	double past_n[RV_REHEARSE_DELAY_STEPS];
	int next; /* where the newest goes */
	bool filled;
	double filtered_n;
	double zeroed_n; /* taken off since someone zeroed it */
	bool dead;
	double shown_n; /* the last reading, which a gateway may repeat */
};

void rv_rehearse_sensor_init(struct rv_rehearse_sensor *sensor, const struct rv_rehearse_cell *cell);

/* One step of the plant later. */
void rv_rehearse_sensor_step(struct rv_rehearse_sensor *sensor,
			     const struct rv_rehearse_plant *plant, double step_s);

/* A new reading in newtons; the old one from a dead cell. */
double rv_rehearse_sensor_read(struct rv_rehearse_sensor *sensor, struct rv_rehearse_dice *dice);

/* Someone zeroes it as it is loaded now; or takes that back. */
void rv_rehearse_sensor_zero(struct rv_rehearse_sensor *sensor, bool zeroed);

#endif
