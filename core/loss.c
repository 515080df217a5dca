/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/loss.h"

#include <math.h>
#include <string.h>

#define NS_PER_S 1e9
#define POINT_NS 10000000
#define CAPACITY_RATIO 0.02
#define ZEROES 10.0
#define PAYING_FLOORS 5.0
#define TREND 1.3	   /* times the fall of the stretch before */
#define STRETCHES 2.0	   /* what paying out explains, doubled */
#define PAID_LEAST_M 0.005 /* payout that counts as paying out, or two encoder steps */
#define STEP_FROM_FLOORS 2.0
#define STEP_TO_RATIO 0.1
#define STEP_TO_FLOORS 0.5

struct past {
	double most_n, least_m;
};

double rv_loss_floor_n(const struct rv_channel *channel)
{
	double of_capacity = CAPACITY_RATIO * channel->capacity;
	double of_zero = ZEROES * channel->calibration.zero.value;
	double floor_n = fmax(of_capacity, of_zero); /* a NaN gives way to a number */

	return floor_n > 0.0 ? floor_n : RV_LOSS_FLOOR_UNKNOWN_N;
}

void rv_loss_init(struct rv_loss *loss, const struct rv_channel *channel)
{
	memset(loss, 0, sizeof *loss);
	loss->floor_n = rv_loss_floor_n(channel);
	loss->last_n = loss->before_n = NAN;
}

void rv_loss_break(struct rv_loss *loss)
{
	loss->count = 0;
	loss->last_n = NAN;
}

static void keep(struct rv_loss *loss, double force_n, double payout_m, int64_t mono_ns)
{
	if (loss->count > 0 && mono_ns - loss->at_ns[loss->head] < POINT_NS) {
		loss->most_n[loss->head] = fmax(loss->most_n[loss->head], force_n);
		return;
	}
	loss->head = (loss->head + 1) % RV_LOSS_POINTS;
	loss->count += loss->count < RV_LOSS_POINTS;
	loss->at_ns[loss->head] = mono_ns;
	loss->most_n[loss->head] = force_n;
	loss->payout_m[loss->head] = payout_m;
}

/* Most force, and least payout, of what was kept from from_s to to_s before mono_ns.  NaN: nothing.
 */
static void look_back(const struct rv_loss *loss, double from_s, double to_s, int64_t mono_ns,
		      struct past *past)
{
	*past = (struct past){NAN, NAN};
	for (int i = 0; i < loss->count; i++) {
		int at = (loss->head - i + RV_LOSS_POINTS) % RV_LOSS_POINTS;
		double age_s = (double)(mono_ns - loss->at_ns[at]) / NS_PER_S;

		if (age_s > from_s)
			break;
		if (age_s < to_s)
			continue;
		past->most_n = fmax(past->most_n, loss->most_n[at]);
		past->least_m = fmin(past->least_m, loss->payout_m[at]);
	}
}

double rv_loss_most_n(const struct rv_loss *loss, int64_t mono_ns)
{
	struct past past;

	look_back(loss, RV_LOSS_WITHIN_S, 0.0, mono_ns, &past);
	return past.most_n;
}

static bool has_fallen(struct rv_loss *loss, double force_n, int64_t mono_ns,
		       const struct rv_loss_line *line)
{
	struct past past, before;
	double floor_n = loss->floor_n, within_s = RV_LOSS_WITHIN_S;

	/* Where readings are missing, the one before the gap is all there is to compare with. */
	if (!isnan(loss->last_n))
		within_s = fmax(within_s, (double)(mono_ns - loss->last_ns) / NS_PER_S);
	look_back(loss, within_s, 0.0, mono_ns, &past);
	double paid_m = line->payout_m - past.least_m; /* NaN where not known */
	double enough_m =
	    isnan(line->step_m) ? PAID_LEAST_M : fmax(PAID_LEAST_M, 2.0 * line->step_m);
	if (line->paying_out || paid_m > enough_m) {
		double explained_n = STRETCHES * line->stiffness_npm * paid_m;

		if (isnan(explained_n)) {
			within_s = RV_LOSS_WITHIN_PAYING_S;
			look_back(loss, within_s, 0.0, mono_ns, &past);
			floor_n *= PAYING_FLOORS;
		} else {
			force_n += fmax(explained_n, 0.0);
		}
	}
	if (!(past.most_n > floor_n && force_n < past.most_n / 2.0))
		return false;
	look_back(loss, 2.0 * within_s, within_s, mono_ns, &before);
	if (past.most_n - force_n < TREND * (before.most_n - past.most_n)) /* false for a NaN */
		return false;
	loss->before_n = past.most_n;
	return true;
}

enum rv_loss_seen rv_loss_see(struct rv_loss *loss, double force_n, int64_t mono_ns,
			      const struct rv_loss_line *line)
{
	double last_n = loss->last_n;
	bool fallen = has_fallen(loss, force_n, mono_ns, line);
	bool stepped = last_n > STEP_FROM_FLOORS * loss->floor_n &&
		       fabs(force_n) < STEP_TO_RATIO * last_n &&
		       fabs(force_n) < STEP_TO_FLOORS * loss->floor_n;

	loss->last_n = force_n;
	loss->last_ns = mono_ns;
	if (!fallen) {
		keep(loss, force_n, line->payout_m, mono_ns);
		return RV_LOSS_NOTHING;
	}
	/* One fall is told once: what comes now is measured from here. */
	loss->count = 0;
	keep(loss, force_n, line->payout_m, mono_ns);
	return stepped ? RV_LOSS_STEPPED : RV_LOSS_FALLEN;
}
