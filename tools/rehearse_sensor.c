/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_sensor.h"

#include <math.h>
#include <string.h>

void rv_rehearse_sensor_init(struct rv_rehearse_sensor *sensor, const struct rv_rehearse_cell *cell)
{
	memset(sensor, 0, sizeof *sensor);
	sensor->cell = cell;
}

void rv_rehearse_sensor_step(struct rv_rehearse_sensor *sensor,
			     const struct rv_rehearse_plant *plant, double step_s)
{
	const struct rv_rehearse_cell *cell = sensor->cell;
	double true_n = 0;
	long late = lround(cell->delay_s / step_s);

	for (int i = 0; i < plant->scenario->line.legs; i++)
		if (cell->leg[i])
			true_n += plant->tension_n[i];
	if (!sensor->filled) {
		for (int i = 0; i < RV_REHEARSE_DELAY_STEPS; i++)
			sensor->past_n[i] = true_n;
		sensor->filtered_n = true_n;
		sensor->filled = true;
	}
	sensor->past_n[sensor->next] = true_n;
	int then = (sensor->next - (int)late + RV_REHEARSE_DELAY_STEPS) % RV_REHEARSE_DELAY_STEPS;
	sensor->next = (sensor->next + 1) % RV_REHEARSE_DELAY_STEPS;
	double part = cell->filter_s > 0 ? 1 - exp(-step_s / cell->filter_s) : 1;
	sensor->filtered_n += part * (sensor->past_n[then] - sensor->filtered_n);
}

static double indicated_n(const struct rv_rehearse_sensor *sensor)
{
	return sensor->filtered_n * (1 + sensor->cell->gain_error_ratio) + sensor->cell->offset_n;
}

double rv_rehearse_sensor_read(struct rv_rehearse_sensor *sensor, struct rv_rehearse_dice *dice)
{
	const struct rv_rehearse_cell *cell = sensor->cell;

	if (sensor->dead)
		return sensor->shown_n;
	double reading_n =
	    indicated_n(sensor) - sensor->zeroed_n + cell->noise_n * rv_rehearse_dice_normal(dice);
	if (cell->resolution_n > 0)
		reading_n = round(reading_n / cell->resolution_n) * cell->resolution_n;
	sensor->shown_n = reading_n;
	return reading_n;
}

void rv_rehearse_sensor_zero(struct rv_rehearse_sensor *sensor, bool zeroed)
{
	sensor->zeroed_n = zeroed ? indicated_n(sensor) : 0;
}
