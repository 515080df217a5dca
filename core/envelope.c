/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/envelope.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/cell.h"
#include "core/force.h"

/* Pieces of an output, low, nominal and high together, for which there is room on the average. */
enum { PIECES_EACH = 8 };

/* ---- what each corner says ---- */

struct work {
	const struct rv_layout *layout;
	const struct rv_flow *flow;
	struct rv_envelope *envelope;
	struct rv_envelope_band *band;
	int cell, which, used;
};

static const struct rv_flow_state *state_of(const struct work *work, int corner)
{
	return corner == 0 ? &work->flow->nominal : &work->flow->corner[corner - 1];
}

static double *slopes_of(const struct work *work, int corner)
{
	return work->envelope->tension + (size_t)corner * 2 * RV_RIG_LEGS;
}

/* Something bends at this load: the band stays on its side. */
static void bend(struct work *work, double at_n)
{
	if (work->which == RV_ENVELOPE_HIGH)
		work->band->from_n = fmax(work->band->from_n, at_n);
	else if (at_n > 0.0)
		work->band->to_n = fmin(work->band->to_n, at_n);
}

/* max(0, a T + b) as it is in the band. */
static void push_not(struct work *work, double *a, double *b_n)
{
	bool is_tight = work->which == RV_ENVELOPE_HIGH ? *a > 0.0 || (!(*a < 0.0) && *b_n > 0.0)
							: *b_n > 0.0 || (!(*b_n < 0.0) && *a > 0.0);

	if (fabs(*a) > 0.0)
		bend(work, -*b_n / *a);
	if (!is_tight)
		*a = *b_n = 0.0;
}

/* False: not a straight line of what the cell measures. */
static bool set_tensions(struct work *work, int corner)
{
	const struct rv_layout *layout = work->layout;
	const struct rv_flow_state *state = state_of(work, corner);
	const struct rv_component_set *set = &layout->set;
	double *a = slopes_of(work, corner), *b_n = a + RV_RIG_LEGS;
	double slope[RV_DIM], constant_n[RV_DIM];
	int part = set->cell_part[work->cell], group = rv_cell_piece(layout, work->cell);

	rv_force_sum(set, &state->pose, part, state->chain.slope, false, slope);
	rv_force_sum(set, &state->pose, part, state->chain.constant_n, true, constant_n);
	if (!set->part[part].plain || !(slope[0] > 0.0) || !isfinite(constant_n[0]))
		return false;
	double start_a = 1.0 / slope[0], start_n = -constant_n[0] / slope[0];
	push_not(work, &start_a, &start_n);
	for (int l = 0; l < layout->reeving.legs; l++) {
		a[l] = state->chain.slope[l] * start_a;
		b_n[l] = state->chain.slope[l] * start_n + state->chain.constant_n[l];
		if (layout->group[layout->reeving.leg[l].piece] != group)
			a[l] = b_n[l] = (double)NAN;
		else if (!isfinite(a[l]) || !isfinite(b_n[l]))
			return false;
		else
			push_not(work, &a[l], &b_n[l]);
	}
	return true;
}

static void set_part(const struct work *work, int corner, int part, double scale,
		     struct rv_envelope_piece *piece)
{
	const struct rv_component_set *set = &work->layout->set;
	const struct rv_pose *pose = &state_of(work, corner)->pose;
	const double *a = slopes_of(work, corner);

	*piece = (struct rv_envelope_piece){.until_n = (double)INFINITY};
	rv_force_sum(set, pose, part, a, false, piece->a);
	rv_force_sum(set, pose, part, a + RV_RIG_LEGS, true, piece->b_n);
	for (int i = 0; i < RV_DIM; i++) {
		piece->a[i] *= scale;
		piece->b_n[i] *= scale;
	}
	rv_envelope_piece_straighten(piece);
}

/* The largest of the parts of a component is one of them all over the band. */
static void set_component(struct work *work, int corner, int component,
			  struct rv_envelope_piece *largest)
{
	const struct rv_component_set *set = &work->layout->set;
	double near_n = work->which == RV_ENVELOPE_HIGH ? (double)INFINITY : 0.0;
	int first = set->first_part[component], count = set->part_count[component];

	*largest = (struct rv_envelope_piece){.until_n = (double)INFINITY, .line = true};
	for (int i = 0; i < count; i++) {
		struct rv_envelope_piece one;

		set_part(work, corner, first + i, set->scale[component], &one);
		if (isnan(largest->a[0]) || isnan(one.a[0])) {
			largest->a[0] = (double)NAN;
			continue;
		}
		double at_n[2];
		int bends = i > 0 ? rv_envelope_piece_even_at(&one, largest, at_n) : 0;
		while (bends > 0)
			bend(work, at_n[--bends]);
		if (i == 0 || rv_envelope_piece_is_ahead(&one, largest, near_n))
			*largest = one;
	}
}

static void set_output(struct work *work, int corner, int output, struct rv_envelope_piece *piece)
{
	const struct rv_layout *layout = work->layout;
	int leg = output - layout->set.components, cell = leg - layout->reeving.legs;

	if (leg < 0) {
		set_component(work, corner, output, piece);
	} else if (cell < 0) {
		*piece = (struct rv_envelope_piece){.until_n = (double)INFINITY, .line = true};
		piece->a[0] = slopes_of(work, corner)[leg];
		piece->b_n[0] = slopes_of(work, corner)[RV_RIG_LEGS + leg];
	} else {
		set_part(work, corner, layout->set.cell_part[cell], 1.0, piece);
	}
}

/* ---- the pieces ---- */

static bool put(struct work *work, const struct rv_envelope_piece *piece, double until_n)
{
	if (work->used == work->envelope->room)
		return false;
	struct rv_envelope_piece *to = &work->band->piece[work->used++];
	*to = *piece;
	to->until_n = until_n;
	to->last = isinf(until_n);
	return true;
}

static bool leads(const struct rv_envelope_piece *one, const struct rv_envelope_piece *other,
		  double load_n, bool high)
{
	return high ? rv_envelope_piece_is_ahead(one, other, load_n)
		    : rv_envelope_piece_is_ahead(other, one, load_n);
}

/* The largest (or smallest) of the forms along the band. */
static bool march(struct work *work, const struct rv_envelope_piece *form, int forms, bool high)
{
	double at_n = work->band->from_n;

	while (!isinf(at_n)) {
		double next_n = (double)INFINITY;
		int best = 0;

		for (int i = 1; i < forms; i++)
			if (leads(&form[i], &form[best], at_n, high))
				best = i;
		for (int i = 0; i < forms; i++)
			next_n = fmin(
			    next_n,
			    high ? rv_envelope_piece_overtakes_at(&form[i], &form[best], at_n)
				 : rv_envelope_piece_overtakes_at(&form[best], &form[i], at_n));
		if (next_n >= work->band->to_n)
			next_n = (double)INFINITY;
		if (!put(work, &form[best], next_n))
			return false;
		at_n = next_n;
	}
	return true;
}

static bool differ(const struct rv_envelope_piece *one, const struct rv_envelope_piece *other)
{
	return memcmp(one->a, other->a, sizeof one->a) != 0 ||
	       memcmp(one->b_n, other->b_n, sizeof one->b_n) != 0;
}

/* What no friction changes is reckoned once. */
static void join(struct work *work, struct rv_envelope_piece *piece)
{
	if (&piece[3] != &work->band->piece[work->used] || differ(&piece[0], &piece[1]) ||
	    differ(&piece[1], &piece[2]))
		return;
	piece->alone = true;
	work->used -= 2;
}

static bool make_output(struct work *work, struct rv_envelope_piece *form)
{
	int forms = work->flow->corners + 1, unknown = 0;
	struct rv_envelope_piece *first = &work->band->piece[work->used];

	for (int i = 0; i < forms; i++)
		unknown += isnan(form[i].a[0]);
	if (unknown > 0 && unknown < forms)
		return false;
	/* All unknown: the first is as good as any. */
	forms = unknown > 0 ? 1 : forms;
	bool is_made = march(work, form, forms, false) && put(work, form, (double)INFINITY) &&
		       march(work, form, forms, true);
	if (is_made)
		join(work, first);
	return is_made;
}

static bool make_band(struct work *work)
{
	struct rv_envelope *envelope = work->envelope;
	int forms = work->flow->corners + 1;
	struct rv_envelope_piece *form =
	    envelope->piece +
	    (size_t)RV_ENVELOPE_BANDS * (size_t)(work->layout->rig.cells * envelope->room);

	work->band->from_n = 0.0;
	work->band->to_n = (double)INFINITY;
	for (int i = 0; i < forms; i++)
		if (!set_tensions(work, i))
			return false;
	for (int o = 0; o < envelope->outputs; o++)
		for (int i = 0; i < forms; i++)
			set_output(work, i, o, &form[(size_t)o * (size_t)forms + (size_t)i]);
	for (int o = 0; o < envelope->outputs; o++)
		if (!make_output(work, &form[(size_t)o * (size_t)forms]))
			return false;
	return true;
}

void rv_envelope_renew(const struct rv_layout *layout, const struct rv_flow *flow,
		       struct rv_envelope *envelope)
{
	for (int c = 0; c < layout->rig.cells; c++) {
		if (rv_cell_piece(layout, c) < 0)
			continue;
		if (envelope->is_proportional)
			rv_evaluate_loads(layout, flow, c, 1.0, &envelope->per_newton[c]);
		for (int w = 0; w < RV_ENVELOPE_BANDS && !envelope->is_proportional; w++) {
			struct rv_envelope_band *band = &envelope->band[c][w];
			struct work work = {layout, flow, envelope, band, c, w, 0};

			/* Where nothing bends, the one above goes down to zero. */
			band->is_made = !(w == RV_ENVELOPE_LOW && envelope->band[c][0].is_made &&
					  envelope->band[c][0].from_n <= 0.0) &&
					make_band(&work);
		}
	}
}

enum rv_err rv_envelope_make(const struct rv_layout *layout, const struct rv_flow *flow,
			     struct rv_envelope *envelope)
{
	size_t cells = (size_t)layout->rig.cells, forms = (size_t)flow->corners + 1;

	*envelope = (struct rv_envelope){.is_proportional = rv_layout_is_proportional(layout)};
	envelope->outputs = layout->set.components + layout->reeving.legs + layout->rig.cells;
	envelope->room = PIECES_EACH * envelope->outputs;
	if (envelope->is_proportional) {
		envelope->per_newton = calloc(cells + 1, sizeof *envelope->per_newton);
		if (!envelope->per_newton)
			return RV_ERR_NOMEM;
	} else {
		size_t bands = RV_ENVELOPE_BANDS * cells;
		size_t pieces = bands * (size_t)envelope->room + (size_t)envelope->outputs * forms;

		envelope->piece = calloc(pieces, sizeof *envelope->piece);
		envelope->tension = calloc(2 * RV_RIG_LEGS * forms, sizeof *envelope->tension);
		if (!envelope->piece || !envelope->tension)
			return RV_ERR_NOMEM;
		for (size_t i = 0; i < bands; i++)
			envelope->band[i / RV_ENVELOPE_BANDS][i % RV_ENVELOPE_BANDS].piece =
			    envelope->piece + i * (size_t)envelope->room;
	}
	rv_envelope_renew(layout, flow, envelope);
	return RV_OK;
}

void rv_envelope_free(struct rv_envelope *envelope)
{
	free(envelope->per_newton);
	free(envelope->piece);
	free(envelope->tension);
	*envelope = (struct rv_envelope){0};
}

/* ---- at every reading ---- */

static double value_n(const struct rv_envelope_piece **next, double load_n)
{
	const struct rv_envelope_piece *piece = *next;

	while (!piece->last && load_n > piece->until_n)
		piece++;
	*next = piece;
	while (!(*next)->last)
		++*next;
	++*next;
	double x = piece->a[0] * load_n + piece->b_n[0];
	if (piece->line)
		return fabs(x);
	double y = piece->a[1] * load_n + piece->b_n[1];
	double z = piece->a[2] * load_n + piece->b_n[2];
	return sqrt(x * x + y * y + z * z);
}

static const struct rv_envelope_piece *read_spans(const struct rv_envelope_piece *next,
						  double load_n, bool centred, int count,
						  struct rv_span *span)
{
	for (int i = 0; i < count; i++) {
		bool alone = next->alone;

		span[i].low_n = value_n(&next, load_n);
		if (alone) {
			span[i].nominal_n = span[i].high_n = span[i].low_n;
			continue;
		}
		span[i].nominal_n = value_n(&next, load_n);
		span[i].high_n = value_n(&next, load_n);
		/* Pieces that are the same but for rounding. */
		if (span[i].low_n > span[i].nominal_n)
			span[i].low_n = span[i].nominal_n;
		if (span[i].high_n < span[i].nominal_n)
			span[i].high_n = span[i].nominal_n;
		if (centred)
			span[i].nominal_n = 0.5 * (span[i].low_n + span[i].high_n);
	}
	return next;
}

void rv_envelope_loads(const struct rv_envelope *envelope, const struct rv_layout *layout,
		       const struct rv_flow *flow, int cell, double load_n, struct rv_loads *loads)
{
	if (envelope->is_proportional) {
		rv_evaluate_scale(layout, &envelope->per_newton[cell], load_n, loads);
		return;
	}
	double at_n = fmax(0.0, load_n);
	for (int w = 0; w < RV_ENVELOPE_BANDS; w++) {
		const struct rv_envelope_band *band = &envelope->band[cell][w];
		const struct rv_envelope_piece *next = band->piece;
		bool centred = flow->sense == 0;

		if (!band->is_made || !(at_n >= band->from_n && at_n <= band->to_n))
			continue;
		next = read_spans(next, at_n, centred, layout->set.components, loads->component);
		next = read_spans(next, at_n, centred, layout->reeving.legs, loads->leg);
		read_spans(next, at_n, centred, layout->rig.cells, loads->cell);
		return;
	}
	rv_evaluate_loads(layout, flow, cell, load_n, loads);
}
