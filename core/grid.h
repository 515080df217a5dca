/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings of one channel, however they are spaced, brought to the grid of 50 Hz on which cells are
 * compared.  Streaming: the grid point k lies at k / 50 s of the monotonic clock.
 *
 * Readings within one step of the grid are first made one, by the mean of their values at the mean of
 * their times: point sampling of a fast cell would fold 50 Hz hum down to nothing that could be told
 * from load, the mean over 20 ms nulls it.  Between what is left, straight lines; no line over a gap of
 * more than three spacings of the channel (at least 0.1 s, at most 1 s): there the grid is NaN, as it
 * is beside a bad reading.
 */
#ifndef RV_CORE_GRID_H
#define RV_CORE_GRID_H

#include <stdint.h>

enum { RV_GRID_HZ = 50, RV_GRID_POINTS = 256 };

#define RV_GRID_STEP_NS INT64_C(20000000)

struct rv_grid {
	double delay_s;  /* readings are this much older than their times say */
	double offset;	 /* taken off every reading */
	int64_t next;	 /* first grid point not yet known; all before it are, back to next - points */
	double at[RV_GRID_POINTS];
	/* the step under way */
	int64_t step;
	int in_step;
	int64_t step_ns; /* sum of times since the step's first */
	int64_t step_first_ns;
	double step_sum;
	/* the reading before it */
	int64_t last_ns; /* 0 = none */
	double last;
	double spacing_s;
	int64_t seen_ns; /* the newest reading's own time, shifted */
};

/* delay_s and offset may be NaN: 0. */
void rv_grid_init(struct rv_grid *grid, double delay_s, double offset);

/* A reading; NaN = a bad one.  A time that does not come after the last is dropped. */
void rv_grid_see(struct rv_grid *grid, double value, int64_t mono_ns);

/* NaN: not known, or no longer kept. */
double rv_grid_at(const struct rv_grid *grid, int64_t k);

/* The mean of the grid points k - half .. k + half; NaN if one of them is. */
double rv_grid_mean(const struct rv_grid *grid, int64_t k, int half);

#endif
