/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/vary.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static enum rv_err add(struct rv_vary *vary, enum rv_vary_kind kind, int index,
		       struct rv_error *error)
{
	if (vary->parameters == RV_VARY_PARAMETERS)
		return rv_err_set(error, RV_ERR_RANGE,
				  "more than %d efficiencies and sheaves that hardly turn",
				  RV_VARY_PARAMETERS);
	vary->parameter[vary->parameters].kind = kind;
	vary->parameter[vary->parameters++].index = index;
	return RV_OK;
}

static bool is_run_over(const struct rv_reeving *reeving, int block)
{
	for (int p = 0; p < reeving->passes; p++)
		if (reeving->pass[p].block == block)
			return true;
	return false;
}

/* A sheave that hardly turns: one way, the other, or not at all.  Stillness is no end of anything, but
 * what is largest of several (a line's parts) may be least there. */
static enum rv_err add_still(struct rv_vary *vary, int pass, struct rv_error *error)
{
	enum rv_err err = add(vary, RV_VARY_PASS_TURN, pass, error);

	return err == RV_OK ? add(vary, RV_VARY_PASS_STILL, pass, error) : err;
}

enum rv_err rv_vary_set(const struct rv_layout *layout, int sense, struct rv_vary *vary,
			struct rv_error *error)
{
	const struct rv_reeving *reeving = &layout->reeving;
	enum rv_err err = RV_OK;

	memset(vary, 0, sizeof *vary);
	vary->layout = layout;
	rv_friction_start(&layout->rig, reeving, &layout->pose, sense < 0 ? -1 : 1, &vary->nominal);
	for (int b = 0; b < layout->rig.blocks && err == RV_OK; b++) {
		struct rv_range eta = layout->rig.block[b].efficiency;

		if (!is_run_over(reeving, b))
			continue;
		if (sense == 0) {
			if (!isnan(eta.low))
				vary->nominal.efficiency_ratio[b] = eta.low;
			err = add(vary, RV_VARY_BLOCK_TURN, b, error);
		} else if (eta.low < eta.high) {
			err = add(vary, RV_VARY_EFFICIENCY, b, error);
		}
	}
	for (int p = 0; p < reeving->passes && sense != 0 && err == RV_OK; p++)
		if (rv_friction_is_still(reeving, &layout->pose, p))
			err = add_still(vary, p, error);
	return err;
}

static void apply(const struct rv_vary *vary, int parameter, bool high,
		  struct rv_friction *friction)
{
	const struct rv_reeving *reeving = &vary->layout->reeving;
	int index = vary->parameter[parameter].index;

	switch (vary->parameter[parameter].kind) {
	case RV_VARY_EFFICIENCY: {
		struct rv_range eta = vary->layout->rig.block[index].efficiency;
		friction->efficiency_ratio[index] = high ? eta.high : eta.low;
		return;
	}
	case RV_VARY_PASS_TURN:
		friction->turn[index] = high ? 1 : -1;
		return;
	case RV_VARY_PASS_STILL:
		if (high)
			friction->turn[index] = 0;
		return;
	case RV_VARY_BLOCK_TURN:
		for (int p = 0; p < reeving->passes; p++) {
			if (reeving->pass[p].block != index)
				continue;
			int in = vary->nominal.turn[p] < 0 ? -1 : 1;
			friction->turn[p] = (signed char)(high ? in : -in);
		}
		return;
	}
}

void rv_vary_corner(const struct rv_vary *vary, uint64_t corner, struct rv_friction *friction)
{
	*friction = vary->nominal;
	for (int i = 0; i < vary->parameters && corner != RV_VARY_NOMINAL; i++)
		apply(vary, i, (corner >> i & 1) != 0, friction);
}

struct search {
	const struct rv_vary *vary;
	const struct rv_vary_question *question;
	struct rv_vary_extremes *extremes;
	double *outputs; /* three times question->outputs */
};

static void take(struct search *search, uint64_t corner)
{
	struct rv_vary_extremes *extremes = search->extremes;

	for (int i = 0; i < search->question->outputs; i++) {
		double value = search->outputs[i];

		if (isnan(extremes->low[i]) || value < extremes->low[i]) {
			extremes->low[i] = value;
			if (extremes->low_at)
				extremes->low_at[i] = corner;
		}
		if (isnan(extremes->high[i]) || value > extremes->high[i]) {
			extremes->high[i] = value;
			if (extremes->high_at)
				extremes->high_at[i] = corner;
		}
	}
}

static void try_corner(struct search *search, uint64_t corner)
{
	struct rv_friction friction;

	rv_vary_corner(search->vary, corner, &friction);
	if (search->question->answer(search->question->context, &friction, search->outputs))
		take(search, corner);
	else
		search->extremes->unanswered++;
}

static bool answer_one_end(struct search *search, int parameter, bool high, double *outputs)
{
	struct rv_friction friction = search->vary->nominal;

	apply(search->vary, parameter, high, &friction);
	return search->question->answer(search->question->context, &friction, outputs);
}

/* For each output the corner at which it should be largest. */
static void climb(struct search *search, uint64_t *highest)
{
	int n = search->question->outputs;
	double *low = search->outputs + n, *high = low + n;

	memset(highest, 0, sizeof *highest * (size_t)n);
	for (int p = 0; p < search->vary->parameters; p++) {
		if (!answer_one_end(search, p, false, low) ||
		    !answer_one_end(search, p, true, high))
			continue;
		for (int i = 0; i < n; i++)
			if (high[i] > low[i])
				highest[i] |= (uint64_t)1 << p;
	}
}

static int by_size(const void *a, const void *b)
{
	const uint64_t *x = a, *y = b;

	return (*x > *y) - (*x < *y);
}

/* Sorts, leaves out what stands twice, and returns how many are left. */
static size_t unique(uint64_t *corners, size_t count)
{
	size_t kept = 0;

	qsort(corners, count, sizeof *corners, by_size);
	for (size_t i = 0; i < count; i++)
		if (i == 0 || corners[i] != corners[i - 1])
			corners[kept++] = corners[i];
	return kept;
}

/* corners has room for one highest corner of each output, and as many lowest, and two. */
static enum rv_err try_likely(struct search *search, uint64_t *corners)
{
	size_t n = (size_t)search->question->outputs;
	size_t around = (size_t)search->vary->parameters + 1;
	uint64_t all = ~(uint64_t)0 >> (64 - search->vary->parameters);

	climb(search, corners);
	for (size_t i = 0; i < n; i++)
		corners[n + i] = all & ~corners[i];
	corners[2 * n] = 0;
	corners[2 * n + 1] = all;
	size_t count = unique(corners, 2 * n + 2);
	uint64_t *likely = calloc(count * around, sizeof *likely);
	if (!likely)
		return RV_ERR_NOMEM;
	for (size_t i = 0; i < count; i++)
		for (size_t p = 0; p < around; p++)
			likely[i * around + p] =
			    p > 0 ? corners[i] ^ (uint64_t)1 << (p - 1) : corners[i];
	count = unique(likely, count * around);
	for (size_t i = 0; i < count; i++)
		try_corner(search, likely[i]);
	free(likely);
	return RV_OK;
}

static void start(struct search *search)
{
	struct rv_vary_extremes *extremes = search->extremes;

	extremes->unanswered = 0;
	for (int i = 0; i < search->question->outputs; i++)
		extremes->low[i] = extremes->high[i] = (double)NAN;
}

static bool holds_nominal(const struct rv_vary *vary)
{
	return vary->parameters == 0 || vary->parameter[0].kind != RV_VARY_BLOCK_TURN;
}

enum rv_err rv_vary_extremes(const struct rv_vary *vary, const struct rv_vary_question *question,
			     struct rv_vary_extremes *extremes)
{
	size_t n = (size_t)question->outputs;
	double *outputs = calloc(3 * n + 1, sizeof *outputs);
	uint64_t *corners = calloc(2 * n + 2, sizeof *corners);
	struct search search = {vary, question, extremes, outputs};

	if (!outputs || !corners) {
		free(outputs);
		free(corners);
		return RV_ERR_NOMEM;
	}
	start(&search);
	enum rv_err err = RV_OK;
	if (vary->parameters <= RV_VARY_ALL)
		for (uint64_t corner = 0; corner >> vary->parameters == 0; corner++)
			try_corner(&search, corner);
	else
		err = try_likely(&search, corners);
	if (err == RV_OK && holds_nominal(vary) &&
	    question->answer(question->context, &vary->nominal, outputs))
		take(&search, RV_VARY_NOMINAL);
	free(outputs);
	free(corners);
	return err;
}
