/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibrate_repeat.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#define UNKNOWN ((double)NAN)

static int compare(double a, double b)
{
	return (a > b) - (a < b);
}

static int by_load_and_way(const void *one, const void *other)
{
	const struct rv_applied_load *a = one, *b = other;
	int order = compare(a->load_n, b->load_n);

	return order ? order : (int)a->way - (int)b->way;
}

static int by_series_and_load(const void *one, const void *other)
{
	const struct rv_applied_load *a = one, *b = other;

	return a->series != b->series ? a->series - b->series : by_load_and_way(one, other);
}

struct mean {
	double sum;
	int count;
};

/* From a tenth of the span on: below it the zero counts.  loads: in order of load. */
static double misfit_ratio(const struct rv_applied_load *loads, size_t count,
			   const struct rv_calibrate *calibrate)
{
	double worst = 0.0;

	for (size_t i = 0, end; i < count; i = end) {
		struct mean off_n = {0};
		for (end = i; end < count && compare(loads[end].load_n, loads[i].load_n) == 0;
		     end++) {
			off_n.sum += rv_calibrate_result_off_n(calibrate, &loads[end]);
			off_n.count++;
		}
		if (loads[i].load_n >= 0.1 * calibrate->span_high_n)
			worst = fmax(worst, fabs(off_n.sum / off_n.count) / loads[i].load_n);
	}
	return worst;
}

/* Scatter of readings at one load and direction, and how much more the curve misses. */
static void measure_misfit(struct rv_applied_load *loads, size_t count,
			   struct rv_calibrate *calibrate)
{
	struct rv_calibrate_repeat *repeat = &calibrate->repeat;
	double inside = 0.0, whole = 0.0;
	int groups = 0;

	qsort(loads, count, sizeof *loads, by_load_and_way);
	for (size_t i = 0, end; i < count; i = end) {
		double mean = 0.0;
		for (end = i; end < count && by_load_and_way(&loads[i], &loads[end]) == 0; end++)
			mean += loads[end].reading;
		mean /= (double)(end - i);
		for (size_t k = i; k < end; k++) {
			double off = loads[k].reading - mean;
			double miss =
			    loads[k].reading - rv_calibrate_result_at(calibrate, loads[k].load_n);
			inside += off * off;
			whole += miss * miss;
		}
		groups++;
	}
	repeat->same_dof = (int)count - groups;
	if (repeat->same_dof == 0)
		return;
	repeat->same_sd = sqrt(inside / repeat->same_dof);
	repeat->misfit_dof = groups - calibrate->curve.degree - 1;
	if (repeat->misfit_dof > 0 && inside > 0.0)
		repeat->misfit_f = fmax(whole - inside, 0.0) / repeat->misfit_dof /
				   (repeat->same_sd * repeat->same_sd);
	repeat->is_missed =
	    !isnan(repeat->misfit_f) &&
	    repeat->misfit_f > gsl_cdf_fdist_Pinv(0.95, repeat->misfit_dof, repeat->same_dof);
	if (repeat->is_missed)
		repeat->misfit_ratio = misfit_ratio(loads, count, calibrate);
}

static void measure_reversal(struct rv_applied_load *loads, size_t count,
			     struct rv_calibrate *calibrate)
{
	struct rv_calibrate_repeat *repeat = &calibrate->repeat;

	qsort(loads, count, sizeof *loads, by_series_and_load);
	for (size_t i = 0, end; i < count; i = end) {
		struct mean way[3] = {{0}};
		for (end = i; end < count && loads[end].series == loads[i].series &&
			      compare(loads[end].load_n, loads[i].load_n) == 0;
		     end++) {
			way[loads[end].way].sum += loads[end].reading;
			way[loads[end].way].count++;
		}
		if (!way[RV_APPLIED_UP].count || !way[RV_APPLIED_DOWN].count)
			continue;
		double apart = way[RV_APPLIED_UP].sum / way[RV_APPLIED_UP].count -
			       way[RV_APPLIED_DOWN].sum / way[RV_APPLIED_DOWN].count;
		double apart_n =
		    fabs(apart / rv_polynomial_slope(calibrate->curve.c, calibrate->curve.degree,
						     loads[i].load_n));
		if (!(apart_n <= repeat->reversal_n)) {
			repeat->reversal_n = apart_n;
			repeat->reversal_load_n = loads[i].load_n;
		}
	}
}

/* The slope of a series' residuals against the rise of the curve: how much its gain differs. */
static double series_gain(const struct rv_applied *applied, int series,
			  const struct rv_calibrate *calibrate)
{
	double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;

	for (int pass = 0; pass < 2; pass++)
		for (size_t i = 0; i < applied->count; i++) {
			const struct rv_applied_load *load = &applied->load[i];
			double at = rv_calibrate_result_at(calibrate, load->load_n);
			if (load->series != series)
				continue;
			if (pass == 0) {
				n += 1.0;
				x += at;
				y += load->reading - at;
			} else {
				xx += (at - x / n) * (at - x / n);
				xy += (at - x / n) * (load->reading - at - y / n);
			}
		}
	return xx > 0.0 ? xy / xx : UNKNOWN;
}

static double series_ratio(const struct rv_applied *applied, const struct rv_calibrate *calibrate)
{
	double gains[RV_APPLIED_SERIES], mean = 0.0, sum = 0.0;

	if (applied->series < 2)
		return UNKNOWN;
	for (int s = 0; s < applied->series; s++) {
		gains[s] = series_gain(applied, s, calibrate);
		mean += gains[s] / applied->series;
	}
	for (int s = 0; s < applied->series; s++)
		sum += (gains[s] - mean) * (gains[s] - mean);
	return sqrt(sum / (applied->series - 1));
}

/* Greatest change of the zero from before a series' loads to after them; NaN if none shows it. */
static double zero_return_n(const struct rv_applied *applied, const struct rv_calibrate *calibrate)
{
	double before[RV_APPLIED_SERIES], most = UNKNOWN;
	bool is_loaded[RV_APPLIED_SERIES] = {false};

	for (int s = 0; s < RV_APPLIED_SERIES; s++)
		before[s] = UNKNOWN;
	for (size_t i = 0; i < applied->count; i++) {
		const struct rv_applied_load *load = &applied->load[i];
		double *first = &before[load->series];
		if (load->load_n > 0.0) {
			is_loaded[load->series] = true;
		} else if (!is_loaded[load->series]) {
			*first = load->reading;
		} else if (!isnan(*first)) {
			double change = fabs((load->reading - *first) / calibrate->curve.c[1]);
			most = isnan(most) ? change : fmax(most, change);
		}
	}
	return most;
}

enum rv_err rv_calibrate_repeat_measure(const struct rv_applied *applied,
					struct rv_calibrate *calibrate, struct rv_error *error)
{
	struct rv_applied_load *loads = malloc(applied->count * sizeof *loads);

	if (!loads)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	calibrate->repeat = (struct rv_calibrate_repeat){.reversal_n = UNKNOWN,
							 .reversal_load_n = UNKNOWN,
							 .series_ratio = UNKNOWN,
							 .zero_return_n = UNKNOWN,
							 .same_sd = UNKNOWN,
							 .misfit_f = UNKNOWN,
							 .misfit_ratio = UNKNOWN};
	memcpy(loads, applied->load, applied->count * sizeof *loads);
	measure_misfit(loads, applied->count, calibrate);
	if (applied->has_way)
		measure_reversal(loads, applied->count, calibrate);
	free(loads);
	calibrate->repeat.series_ratio = series_ratio(applied, calibrate);
	calibrate->repeat.zero_return_n = zero_return_n(applied, calibrate);
	return RV_OK;
}
