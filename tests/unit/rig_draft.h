/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seeded random rigs whose points float: blocks on floating points and in bights, grabs, weights,
 * strops, fixed bars, every law of friction, one winch or two; in the plane and in space.
 */
#ifndef RV_TESTS_UNIT_RIG_DRAFT_H
#define RV_TESTS_UNIT_RIG_DRAFT_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "core/text.h"

enum { RIG_DRAFT_FAMILIES = 6 };

/* A small generator of our own, so that the rigs are the same everywhere (constants of Knuth's
 * MMIX; from memory, not re-read). */
static uint64_t rig_draft_seed;

static inline double rig_draft_draw(double low, double high)
{
	rig_draft_seed = rig_draft_seed * 6364136223846793005u + 1442695040888963407u;
	return low + (high - low) * (double)(rig_draft_seed >> 11) / 9007199254740992.0;
}

static inline bool rig_draft_one_in(int n)
{
	return rig_draft_draw(0.0, 1.0) * n < 1.0;
}

struct rig_draft {
	struct rv_text text;
	bool in_space, lossless;
};

static inline void rig_draft_add_point(struct rig_draft *draft, const char *name,
				       const double at[3], const char *more)
{
	rv_text_add(&draft->text, "  %s: {at: [%.4f, %.4f", name, at[0], at[1]);
	if (draft->in_space)
		rv_text_add(&draft->text, ", %.4f", at[2]);
	rv_text_add(&draft->text, "]%s}\n", more);
}

static inline void rig_draft_add_travel(struct rig_draft *draft, const double way[3],
					double resists_kn)
{
	rv_text_add(&draft->text, "loads: {car: {travels: [%.4f, %.4f", way[0], way[1]);
	if (draft->in_space)
		rv_text_add(&draft->text, ", %.4f", way[2]);
	rv_text_add(&draft->text, "], resists: %.4f kN}}\n", resists_kn);
}

/* Every law of friction has its turn; none of them when the rig is to be without loss. */
static inline void rig_draft_add_block(struct rig_draft *draft, const char *name, const char *at,
				       const char *more)
{
	double eta = rig_draft_draw(0.88, 0.99), share = rig_draft_draw(0.0, 1.0),
	       pin = rig_draft_draw(0.0, 0.04), drag = rig_draft_draw(0.0, 60.0);
	bool has_share = rig_draft_one_in(3), has_pin = rig_draft_one_in(4),
	     has_drag = rig_draft_one_in(4);

	rv_text_add(&draft->text, "  %s: {at: %s%s", name, at, more);
	if (draft->lossless) {
		rv_text_add(&draft->text, ", efficiency: 1}\n");
		return;
	}
	rv_text_add(&draft->text, ", efficiency: %.5f", eta);
	if (has_share)
		rv_text_add(&draft->text, ", bearing_share: %.4f", share);
	if (has_pin)
		rv_text_add(&draft->text, ", pin_drag: %.5f", pin);
	if (has_drag)
		rv_text_add(&draft->text, ", drag: %.3f N", drag);
	rv_text_add(&draft->text, "}\n");
}

static inline const double *rig_draft_spot(double x, double y, double spread)
{
	static double at[4][3];
	static int next;
	double *to = at[next++ % 4];

	to[0] = x + rig_draft_draw(-1.0, 1.0);
	to[1] = y + rig_draft_draw(-spread, spread);
	to[2] = rig_draft_draw(-0.5, 0.5) * spread;
	return to;
}

/* Whip on whip: each line ends on the block that rides in the bight of the one before. */
static inline void rig_draft_write_whips(struct rig_draft *draft)
{
	int whips = 2 + (int)rig_draft_draw(0.0, 2.999);
	char name[32], more[64];

	rv_text_add(&draft->text, "points:\n");
	rig_draft_add_point(draft, "deck", rig_draft_spot(0, 0, 3), "");
	for (int i = 0; i < whips; i++) {
		snprintf(name, sizeof name, "a%d", i);
		rig_draft_add_point(draft, name, rig_draft_spot(0, 0, 3), "");
		snprintf(name, sizeof name, "g%d", i);
		bool has_weight = i + 1 < whips && !draft->lossless && rig_draft_one_in(4);
		snprintf(more, sizeof more,
			 has_weight ? ", floats: true, weight: %.1f N" : ", floats: true",
			 rig_draft_draw(20.0, 200.0));
		rig_draft_add_point(draft, name, rig_draft_spot(14.0 + 9.0 * i, 0, 2),
				    i + 1 < whips ? more : ", moves_with: car");
	}
	double way[3] = {-1.0, rig_draft_draw(-0.1, 0.1), rig_draft_draw(-0.1, 0.1)};
	rig_draft_add_travel(draft, way, rig_draft_draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	for (int i = 0; i < whips; i++) {
		char at[32];
		snprintf(name, sizeof name, "b%d", i);
		snprintf(at, sizeof at, "g%d", i);
		rig_draft_add_block(draft, name, at, "");
	}
	rv_text_add(&draft->text, "lines:\n");
	for (int i = 0; i < whips; i++) {
		snprintf(name, sizeof name, "g%d", i - 1);
		rv_text_add(&draft->text, "  l%d: {path: [%s, b%d, a%d]}\n", i,
			    i == 0 ? "drum" : name, i, i);
	}
}

/* A turn held by a block on a sling, or by a strop. */
static inline void rig_draft_write_turn(struct rig_draft *draft)
{
	bool on_sling = rig_draft_one_in(2);
	double turn[3] = {rig_draft_draw(-2, 2), rig_draft_draw(-2, 2), rig_draft_draw(-2, 2)};

	rv_text_add(&draft->text, "points:\n");
	rig_draft_add_point(draft, "deck", rig_draft_spot(35, -25, 6), "");
	rig_draft_add_point(draft, "north", rig_draft_spot(-5, 7, 1), "");
	if (on_sling) {
		rig_draft_add_point(draft, "south", rig_draft_spot(-5, -6, 1), "");
		rig_draft_add_point(draft, "ring", turn, ", floats: true");
	}
	rig_draft_add_point(draft, "lug", rig_draft_spot(40, 18, 5), ", moves_with: car");
	double way[3] = {-1.0, rig_draft_draw(-0.5, -0.1), rig_draft_draw(-0.1, 0.1)};
	rig_draft_add_travel(draft, way, rig_draft_draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	char hangs[32];
	snprintf(hangs, sizeof hangs, ", hangs: %.4f", rig_draft_draw(0.5, 4.0));
	rig_draft_add_block(draft, "turn", on_sling ? "ring" : "north", on_sling ? "" : hangs);
	if (on_sling)
		rig_draft_add_block(draft, "rider", "ring", "");
	rv_text_add(&draft->text, "lines:\n  wire: {path: [drum, turn, lug]}\n");
	if (on_sling)
		rv_text_add(&draft->text, "  sling: {path: [north, rider, south]}\n");
}

/* A haul line on the clamp of a load line; the clamp may be heavy, and the haul line may run over a
 * fixed bar on its way from the drum. */
static inline void rig_draft_write_piggyback(struct rig_draft *draft)
{
	bool is_heavy = rig_draft_one_in(3), on_bar = !draft->lossless && rig_draft_one_in(3);
	char more[64];

	snprintf(more, sizeof more, is_heavy ? ", floats: true, weight: %.1f N" : ", floats: true",
		 rig_draft_draw(20.0, 200.0));
	rv_text_add(&draft->text, "points:\n");
	rig_draft_add_point(draft, "deck", rig_draft_spot(-4, 0, 2), "");
	rig_draft_add_point(draft, "bollard", rig_draft_spot(-1, 3, 1), "");
	rig_draft_add_point(draft, "post", rig_draft_spot(0, 0, 2), "");
	rig_draft_add_point(draft, "clamp", rig_draft_spot(14, 0, 1), more);
	rig_draft_add_point(draft, "lug", rig_draft_spot(32, 0, 2), ", moves_with: car");
	double way[3] = {-1.0, rig_draft_draw(-0.1, 0.1), rig_draft_draw(-0.1, 0.1)};
	rig_draft_add_travel(draft, way, rig_draft_draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	rig_draft_add_block(draft, "rider", "clamp", "");
	rig_draft_add_block(draft, "runner", "lug", "");
	rig_draft_add_block(draft, "fixed", "post", "");
	if (on_bar)
		rv_text_add(&draft->text, "  bar: {at: bollard, bar_friction: %.4f, turns: %d}\n",
			    rig_draft_draw(0.05, 0.2), rig_draft_one_in(2));
	rv_text_add(&draft->text,
		    "lines:\n  long: {path: [tail, clamp, runner, fixed, lug]}\n"
		    "  short: {path: [drum%s, rider, post]}\n",
		    on_bar ? ", bar" : "");
}

/* Two winches: the second pulls on a clamp on the first one's line, directly or in two parts. */
static inline void rig_draft_write_helper(struct rig_draft *draft)
{
	bool in_parts = rig_draft_one_in(2);

	rv_text_add(&draft->text, "points:\n");
	rig_draft_add_point(draft, "deck", rig_draft_spot(0, 0, 3), "");
	rig_draft_add_point(draft, "side", rig_draft_spot(2, 8, 1), "");
	rig_draft_add_point(draft, "tie", rig_draft_spot(1, 10, 1), "");
	rig_draft_add_point(draft, "clamp", rig_draft_spot(13, 1, 1), ", floats: true");
	rig_draft_add_point(draft, "lug", rig_draft_spot(33, 0, 2), ", moves_with: car");
	double way[3] = {-1.0, rig_draft_draw(-0.1, 0.1), rig_draft_draw(-0.1, 0.1)};
	double resists_kn = rig_draft_draw(5, 80);
	rig_draft_add_travel(draft, way, resists_kn);
	rv_text_add(&draft->text,
		    "winches: {drum: {at: deck}, helper: {at: side, line_pull: %.4f kN}}\n",
		    resists_kn * rig_draft_draw(0.1, 0.3));
	if (in_parts) {
		rv_text_add(&draft->text, "blocks:\n");
		rig_draft_add_block(draft, "rider", "clamp", "");
	}
	rv_text_add(&draft->text,
		    "lines:\n  main: {path: [drum, clamp, lug]}\n  help: {path: [helper, %s]}\n",
		    in_parts ? "rider, tie" : "clamp");
}

/* A burton: the block in the bight of one line carries the other, its becket the first. */
static inline void rig_draft_write_burton(struct rig_draft *draft)
{
	bool has_runner = rig_draft_one_in(2);

	rv_text_add(&draft->text, "points:\n");
	rig_draft_add_point(draft, "deck", rig_draft_spot(44, 0, 1), "");
	rig_draft_add_point(draft, "beam", rig_draft_spot(0, 0, 0.5), "");
	rig_draft_add_point(draft, "bight", rig_draft_spot(13, 0, 0.5), ", floats: true");
	rig_draft_add_point(draft, "lug", rig_draft_spot(38, 0, 0.5), ", moves_with: car");
	double way[3] = {-1.0, rig_draft_draw(-0.02, 0.02), rig_draft_draw(-0.02, 0.02)};
	rig_draft_add_travel(draft, way, rig_draft_draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	rig_draft_add_block(draft, "upper", "beam", "");
	rig_draft_add_block(draft, "rider", "bight", "");
	if (has_runner)
		rig_draft_add_block(draft, "runner", "lug", "");
	rv_text_add(
	    &draft->text,
	    "lines:\n  whip: {path: [%s, upper, rider]}\n  fall: {path: [drum, rider, %s]}\n",
	    has_runner ? "runner" : "lug", has_runner ? "runner, beam" : "lug");
}

static inline void rig_draft_write(struct rig_draft *draft, int family)
{
	static void (*const families[RIG_DRAFT_FAMILIES])(struct rig_draft * draft) = {
	    rig_draft_write_turn,  rig_draft_write_whips,  rig_draft_write_piggyback,
	    rig_draft_write_whips, rig_draft_write_helper, rig_draft_write_burton,
	};

	families[family % RIG_DRAFT_FAMILIES](draft);
}

#endif
