/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the log ratio of two cells depends on how the tension moves: the mean of the ratio where the
 * near tension rises fastest (the top 30 %) less that where it falls fastest (the bottom 30 %).  It is
 * naught where friction is fully mobilised and the cells are aligned; sheaves that run back, or a
 * delay that is not declared, show here.  Own diagnostic, no published source.
 *
 * Keeps at most RV_SURGE_POINTS pairs: when they are full every second is let go, and from then on
 * only every second is taken.
 */
#ifndef RV_CORE_SURGE_H
#define RV_CORE_SURGE_H

enum { RV_SURGE_POINTS = 4096 };

struct rv_surge {
	int count, stride, skipped;
	double slope[RV_SURGE_POINTS], ratio[RV_SURGE_POINTS];
};

void rv_surge_begin(struct rv_surge *surge);

/* Slope of the near tension (any unit) and the log ratio at that instant.  NaN: not taken. */
void rv_surge_see(struct rv_surge *surge, double slope, double log_ratio);

/* NaN below 100 pairs (2 s). */
double rv_surge_log(const struct rv_surge *surge);

#endif
