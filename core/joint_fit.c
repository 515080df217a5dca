/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/joint_fit.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "core/stats.h"

#define START_X (-0.04)
#define STEP_X 1e-5
#define COMMON 0.002
#define OWN 0.002
#define NOISE 0.0015
#define MOST_CONDITION 1e10

enum { N = RV_JOINT_CELLS };

static bool counts(const struct rv_estimate_pull *pull)
{
	return pull->why == RV_PULL_KEPT && !pull->struck && !isnan(pull->log_ratio);
}

static bool all_count(const struct rv_joint_fit *work, int pull)
{
	for (int j = 1; j < work->setup->cells; j++)
		if (work->has[j] && !counts(&work->setup->pull[j][pull]))
			return false;
	return true;
}

/* ---- what is fitted ---- */

static void find_units(struct rv_joint_fit *work)
{
	const struct rv_estimate_pull *pull = work->setup->pull[work->row_cell[0]];

	work->units = 0;
	work->joint.by_cycles = true;
	for (int i = 0; i + 1 < work->setup->pulls; i++)
		if (pull[i].direction == RV_MOTION_IN && pull[i + 1].direction == RV_MOTION_OUT &&
		    all_count(work, i) && all_count(work, i + 1))
			work->unit[work->units++] = (struct rv_joint_unit){i, i + 1};
	if (work->units >= 3)
		return;
	work->units = 0;
	work->joint.by_cycles = false;
	for (int i = 0; i < work->setup->pulls; i++)
		if (pull[i].direction == RV_MOTION_IN && all_count(work, i))
			work->unit[work->units++] = (struct rv_joint_unit){i, -1};
}

/* A segment for each stretch between cells that take part; those beyond the last are not measured.
 */
static void lay_segments(struct rv_joint_fit *work)
{
	struct rv_joint *joint = &work->joint;
	int segment = 0;

	work->rows = 0;
	for (int s = 0; s < work->setup->cells - 1; s++)
		joint->segment_of[s] = -1;
	for (int j = 1, from = 0; j < work->setup->cells; j++) {
		if (!work->has[j])
			continue;
		for (int s = from; s < j; s++)
			joint->segment_of[s] = segment;
		from = j;
		segment++;
		work->row_cell[work->rows++] = j;
	}
	joint->segments = segment;
	memset(work->sheaves, 0, sizeof work->sheaves);
	for (int i = 0; i < work->setup->sheaves; i++) {
		int at = joint->segment_of[work->setup->sheave[i].segment];
		if (at >= 0)
			work->sheaves[at]++;
	}
}

/* Leaves out the one cell that most pulls lack, where too few have them all. */
static void drop_cell(struct rv_joint_fit *work)
{
	int worst = -1, most = 0;

	for (int j = 1; j < work->setup->cells; j++) {
		int lacks = 0;
		for (int i = 0; i < work->setup->pulls; i++)
			lacks += !counts(&work->setup->pull[j][i]);
		if (lacks > most) {
			most = lacks;
			worst = j;
		}
	}
	if (worst < 0)
		return;
	work->has[worst] = false;
	work->joint.dropped = worst;
	lay_segments(work);
	find_units(work);
}

void rv_joint_fit_prepare(struct rv_joint_fit *work)
{
	for (int j = 1; j < work->setup->cells; j++)
		work->has[j] = true;
	work->joint.dropped = -1;
	lay_segments(work);
	find_units(work);
	int first = work->joint.by_cycles ? work->units : 0;
	if (first < 3)
		drop_cell(work);
}

double rv_joint_fit_at(const struct rv_joint_fit *work, int row, const double *x,
		       enum rv_motion motion)
{
	const struct rv_joint_setup *setup = work->setup;
	double whole[N];

	for (int s = 0; s < setup->cells - 1; s++)
		whole[s] = work->joint.segment_of[s] < 0 ? START_X : x[work->joint.segment_of[s]];
	return setup->log_ratio(setup->rig, work->row_cell[row], whole, motion);
}

static double model(const struct rv_joint_fit *work, int row, const double *x)
{
	double in = rv_joint_fit_at(work, row, x, RV_MOTION_IN);

	return work->joint.by_cycles ? in - rv_joint_fit_at(work, row, x, RV_MOTION_OUT) : in;
}

static double value_of(const struct rv_joint_fit *work, int row, int unit)
{
	const struct rv_estimate_pull *pull = work->setup->pull[work->row_cell[row]];
	const struct rv_joint_unit *of = &work->unit[unit];

	return pull[of->in].log_ratio - (of->out >= 0 ? pull[of->out].log_ratio : 0.0);
}

static void differentiate(struct rv_joint_fit *work)
{
	for (int s = 0; s < work->joint.segments; s++) {
		double low[N], high[N];
		memcpy(low, work->joint.x, sizeof low - sizeof low[0]);
		memcpy(high, work->joint.x, sizeof high - sizeof high[0]);
		low[s] -= STEP_X;
		high[s] += STEP_X;
		for (int r = 0; r < work->rows; r++)
			work->jacobian[r][s] =
			    (model(work, r, high) - model(work, r, low)) / (2.0 * STEP_X);
	}
}

/* ---- the fit ---- */

static void weights(const struct rv_joint_fit *work, double v[N * N])
{
	double both = work->joint.by_cycles ? 2.0 : 1.0;
	int rows = work->rows;

	for (int a = 0; a < rows; a++)
		for (int b = 0; b < rows; b++) {
			double all_a = 0.0, all_b = 0.0, own = 0.0;
			for (int s = 0; s < work->joint.segments; s++) {
				double ga = work->jacobian[a][s], gb = work->jacobian[b][s];
				all_a += ga;
				all_b += gb;
				own += ga * gb / (work->sheaves[s] > 0 ? work->sheaves[s] : 1);
			}
			v[a * rows + b] = COMMON * COMMON * all_a * all_b + OWN * OWN * own +
					  both * NOISE * NOISE * (a == b ? 2.0 : 1.0);
			if (!work->joint.by_cycles) {
				const struct rv_estimate_cell *cell = work->setup->cell;
				v[a * rows + b] +=
				    work->units *
				    (pow(cell[0].u_gain_ratio, 2) +
				     (a == b ? pow(cell[work->row_cell[a]].u_gain_ratio, 2) : 0.0));
			}
		}
}

/* A = (J' V^-1 J)^-1 J' V^-1.  False: the segments cannot be told apart. */
static bool find_answer(struct rv_joint_fit *work)
{
	double v[N * N], inverse[N * N], normal[N * N], copy[N * N], left[N * N], turn[N * N];
	double sizes[N], room[N];
	size_t rows = (size_t)work->rows, q = (size_t)work->joint.segments;
	gsl_matrix_view vm = gsl_matrix_view_array(v, rows, rows);
	gsl_matrix_view im = gsl_matrix_view_array(inverse, rows, rows);

	weights(work, v);
	gsl_linalg_cholesky_decomp1(&vm.matrix);
	gsl_matrix_memcpy(&im.matrix, &vm.matrix);
	gsl_linalg_cholesky_invert(&im.matrix);
	for (size_t s = 0; s < q; s++)
		for (size_t r = 0; r < rows; r++) {
			left[s * rows + r] = 0.0;
			for (size_t k = 0; k < rows; k++)
				left[s * rows + r] += work->jacobian[k][s] * inverse[k * rows + r];
		}
	for (size_t s = 0; s < q; s++)
		for (size_t t = 0; t < q; t++) {
			normal[s * q + t] = 0.0;
			for (size_t r = 0; r < rows; r++)
				normal[s * q + t] += left[s * rows + r] * work->jacobian[r][t];
		}
	memcpy(copy, normal, sizeof copy);
	gsl_matrix_view cm = gsl_matrix_view_array(copy, q, q),
			tm = gsl_matrix_view_array(turn, q, q);
	gsl_vector_view sv = gsl_vector_view_array(sizes, q), rv = gsl_vector_view_array(room, q);
	gsl_linalg_SV_decomp(&cm.matrix, &tm.matrix, &sv.vector, &rv.vector);
	if (!(sizes[q - 1] * MOST_CONDITION > sizes[0]))
		return false;
	gsl_matrix_view nm = gsl_matrix_view_array(normal, q, q);
	gsl_linalg_cholesky_decomp1(&nm.matrix);
	gsl_linalg_cholesky_invert(&nm.matrix);
	for (size_t s = 0; s < q; s++)
		for (size_t r = 0; r < rows; r++) {
			work->answer[s][r] = 0.0;
			for (size_t t = 0; t < q; t++)
				work->answer[s][r] += normal[s * q + t] * left[t * rows + r];
		}
	return true;
}

static void speak_each(struct rv_joint_fit *work);

static void take_means(struct rv_joint_fit *work)
{
	int stints[RV_ESTIMATE_PULLS];

	for (int u = 0; u < work->units; u++)
		stints[u] = work->setup->pull[work->row_cell[0]][work->unit[u].in].stint;
	rv_repeat_plan(stints, work->units, work->setup->estimate->correlation, &work->repeat);
	for (int r = 0; r < work->rows; r++) {
		work->mean[r] = 0.0;
		for (int u = 0; u < work->units; u++)
			work->mean[r] += work->repeat.weight[u] * value_of(work, r, u);
	}
}

bool rv_joint_fit_solve(struct rv_joint_fit *work)
{
	double moved = 1.0;

	take_means(work);

	for (int s = 0; s < N - 1; s++)
		work->joint.x[s] = START_X;
	for (int step = 0; step < 20 && moved > 1e-10; step++) {
		differentiate(work);
		if (!find_answer(work))
			return false;
		double left[N];
		for (int r = 0; r < work->rows; r++)
			left[r] = work->mean[r] - model(work, r, work->joint.x);
		moved = 0.0;
		for (int s = 0; s < work->joint.segments; s++) {
			double by = 0.0;
			for (int r = 0; r < work->rows; r++)
				by += work->answer[s][r] * left[r];
			work->joint.x[s] += by;
			moved = fmax(moved, fabs(by));
		}
	}
	speak_each(work);
	return moved <= 1e-8;
}

static void speak_each(struct rv_joint_fit *work)
{
	for (int s = 0; s < work->joint.segments; s++)
		for (int u = 0; u < work->units; u++) {
			work->each[s][u] = work->joint.x[s];
			for (int r = 0; r < work->rows; r++)
				work->each[s][u] +=
				    work->answer[s][r] *
				    (value_of(work, r, u) - model(work, r, work->joint.x));
		}
}

/* ---- uncertainty ---- */

static double known(double u)
{
	return isnan(u) ? 0.0 : u;
}

/* Sum of weight / tension of a cell over the units, out counted against in; and of it times the
 * time since the zeros. */
static void per_newton(const struct rv_joint_fit *work, int cell, double *zero, double *drift)
{
	const struct rv_estimate_pull *pull =
	    work->setup->pull[cell == 0 ? work->row_cell[0] : cell];

	*zero = *drift = 0.0;
	for (int u = 0; u < work->units; u++)
		for (int out = 0; out < 1 + work->joint.by_cycles; out++) {
			const struct rv_estimate_pull *at =
			    &pull[out ? work->unit[u].out : work->unit[u].in];
			double k = (out ? -1.0 : 1.0) * work->repeat.weight[u] /
				   (cell == 0 ? at->near_n : at->far_n);
			*zero += k;
			*drift += k * (isnan(at->since_zero_ratio) ? 1.0 : at->since_zero_ratio);
		}
}

struct rv_value rv_joint_fit_value(const struct rv_joint_fit *work, const double *weight)
{
	double row[N] = {0}, values[RV_ESTIMATE_PULLS] = {0};
	struct rv_value value = rv_value_none();

	for (int s = 0; s < work->joint.segments; s++) {
		for (int r = 0; r < work->rows; r++)
			row[r] += weight[s] * work->answer[s][r];
		for (int u = 0; u < work->units; u++)
			values[u] += weight[s] * work->each[s][u];
	}
	struct rv_repeat_mean mean = rv_repeat_mean(&work->repeat, values);
	value.at = mean.mean;
	value.u = mean.u;
	value.dof = mean.dof;
	for (int r = -1; r < work->rows; r++) {
		int cell = r < 0 ? 0 : work->row_cell[r];
		const struct rv_estimate_cell *of = &work->setup->cell[cell];
		double effect = 0.0, zero, drift;

		for (int k = 0; k < work->rows; k++)
			effect += r < 0 ? -row[k] : (k == r ? row[k] : 0.0);
		per_newton(work, cell, &zero, &drift);
		value.parts.zero = hypot(value.parts.zero, effect * zero * known(of->u_zero_n));
		value.parts.drift = hypot(value.parts.drift, effect * drift * known(of->u_drift_n));
		if (!work->joint.by_cycles)
			value.parts.gain =
			    hypot(value.parts.gain, effect * known(of->u_gain_ratio));
	}
	rv_value_close(&value);
	return value;
}

void rv_joint_fit_judge(struct rv_joint_fit *work)
{
	struct rv_joint *joint = &work->joint;
	int q = joint->segments, tests = q == 2 ? 1 : q;

	joint->worst = -1;
	for (int s = 0; s < tests && q > 1; s++) {
		double weight[N];
		for (int t = 0; t < q; t++)
			weight[t] = t == s ? 1.0 : -1.0 / (q - 1);
		struct rv_value value = rv_joint_fit_value(work, weight);
		double half =
		    hypot(rv_stats_t(1.0 - 0.025 / tests, value.dof) * value.u,
			  rv_stats_normal(1.0 - 0.025 / tests) * rv_value_parts_u(&value.parts));
		joint->differ = joint->differ || fabs(value.at) > half;
	}
	for (int s = 0; s < q && joint->differ; s++)
		if (joint->worst < 0 || joint->x[s] < joint->x[joint->worst])
			joint->worst = s;
}
