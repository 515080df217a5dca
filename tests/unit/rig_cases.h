/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rigs whose every tension and load is known from an independent prototype of the same statics in
 * another language, with its own separate hand equations as a second check.
 */
#ifndef RV_TESTS_UNIT_RIG_CASES_H
#define RV_TESTS_UNIT_RIG_CASES_H

#include <string.h>

#include "core/rig_read.h"
#include "tests/rvtest.h"

/* One redirect at right angles; a chain of shackle and two-legged strop behind it. */
#define RIG_REDIRECT \
	"points: {a: {at: [0, 0]}, oak: {at: [25, 0], wll: 60 kN}, lug: {at: [25, 30], moves_with: cart}}\n" \
	"loads: {cart: {travels: [0, -1], resists: 18 kN}}\n" \
	"winches: {drum: {at: a, rated: 40 kN}}\n" \
	"blocks: {corner: {at: oak, efficiency: [0.94, 0.98], wll: 50 kN}}\n" \
	"lines: {wire: {path: [drum, corner, lug], wll: 30 kN}}\n" \
	"fittings:\n" \
	"  pin: {kind: shackle, holds: corner, wll: 32.5 kN}\n" \
	"  strop: {kind: strop, holds: pin, legs: 2, included_angle: 50, wll: 20 kN}\n" \
	"cells: {lead: {in: wire, leg: 1}, anchor: {holds: corner}}\n"

/* Two parts, the legs a little open. */
#define RIG_TWO_PARTS \
	"points: {deck: {at: [0, 0]}, bumper: {at: [0, 0.8], wll: 90 kN}, eye: {at: [36, 0.4], moves_with: van}}\n" \
	"loads: {van: {travels: [-1, 0], resists: 46 kN}}\n" \
	"winches: {drum: {at: deck, rated: 45 kN}}\n" \
	"blocks: {runner: {at: eye, efficiency: [0.93, 0.97], wll: 80 kN, diameter: 0.18}}\n" \
	"lines: {wire: {path: [drum, runner, bumper], wll: 35 kN}}\n" \
	"fittings:\n" \
	"  eye pin: {kind: shackle, holds: runner, wll: 46.5 kN}\n" \
	"  dead pin: {kind: shackle, holds: wire end, wll: 32.5 kN}\n" \
	"cells: {lead: {in: wire, leg: 1}, dead: {in: wire, leg: 2}}\n"

/* Three parts, dead end at the moving block's becket. */
#define RIG_THREE_PARTS \
	"points: {deck: {at: [0, 0]}, eye: {at: [40, 0], moves_with: cart}, post: {at: [0, 0]}}\n" \
	"loads: {cart: {travels: [-1, 0], resists: 75 kN}}\n" \
	"winches: {drum: {at: deck, rated: 50 kN}}\n" \
	"blocks:\n" \
	"  runner: {at: eye, efficiency: 0.96, wll: 100 kN}\n" \
	"  fixed: {at: post, efficiency: 0.94, wll: 100 kN}\n" \
	"lines: {wire: {path: [drum, runner, fixed, runner], wll: 45 kN}}\n" \
	"cells: {lead: {in: wire, leg: 1}, post cell: {holds: fixed}}\n"

/* Four parts in space over three anchors. */
#define RIG_FOUR_PARTS \
	"points:\n" \
	"  deck: {at: [0, 0, 1.1]}\n" \
	"  pine: {at: [-2, 9, 1.5], wll: 80 kN}\n" \
	"  stake: {at: [1, -7, 0.3], wll: 50 kN}\n" \
	"  eye: {at: [34, 1, -2.2], moves_with: lorry}\n" \
	"loads: {lorry: {travels: [-1, 0, 0.06], resists: 95 kN}}\n" \
	"winches: {drum: {at: deck, rated: 60 kN}}\n" \
	"blocks:\n" \
	"  twin: {at: eye, sheaves: 2, efficiency: [0.93, 0.97], wll: 160 kN, diameter: 0.22}\n" \
	"  tail block: {at: pine, efficiency: [0.93, 0.97], wll: 80 kN, diameter: 0.22}\n" \
	"lines: {wire: {path: [drum, twin, tail block, twin, stake], wll: 50 kN}}\n" \
	"fittings: {strop: {kind: strop, holds: tail block, legs: 2, included_angle: 40, wll: 40 kN}}\n" \
	"cells: {lead: {in: wire, leg: 1}, dead: {in: wire, leg: 4}}\n"

/* Five parts between two twin blocks. */
#define RIG_FIVE_PARTS \
	"points: {deck: {at: [0, 0]}, post: {at: [0, 0]}, eye: {at: [22, 0], moves_with: hull}}\n" \
	"loads: {hull: {travels: [-1, 0], resists: 180 kN}}\n" \
	"winches: {drum: {at: deck, rated: 50 kN}}\n" \
	"blocks:\n" \
	"  far twin: {at: post, sheaves: 2, efficiency: 0.95, wll: 200 kN}\n" \
	"  near twin: {at: eye, sheaves: 2, efficiency: 0.95, wll: 250 kN, becket_wll: 60 kN}\n" \
	"lines: {wire: {path: [drum, near twin, far twin, near twin, far twin, near twin], wll: 50 kN}}\n" \
	"cells: {lead: {in: wire, leg: 1}, dead: {in: wire, leg: 5}, mid: {in: wire, leg: 3}}\n"

/* Paying out down a ramp, one turn round a bar. */
#define RIG_LOWER \
	"haul: out\n" \
	"points:\n" \
	"  deck: {at: [-4, 0]}\n" \
	"  rail: {at: [0, 0], wll: 60 kN}\n" \
	"  dead: {at: [0, 0.6], wll: 60 kN}\n" \
	"  lug: {at: [18, -6], moves_with: quad}\n" \
	"loads: {quad: {travels: [-3, 1], resists: 12 kN}}\n" \
	"winches: {drum: {at: deck, rated: 10 kN}}\n" \
	"blocks:\n" \
	"  bar: {at: rail, bar_friction: 0.15, turns: 1, wll: 30 kN}\n" \
	"  runner: {at: lug, efficiency: 0.92, wll: 30 kN}\n" \
	"lines: {rope: {path: [drum, bar, runner, dead], wll: 10 kN}}\n" \
	"cells: {lead: {in: rope, leg: 1}, end: {in: rope, leg: 3}}\n"

/* The winch sits on what it moves. */
#define RIG_SELF \
	"points:\n" \
	"  tree: {at: [0, 0], wll: 90 kN}\n" \
	"  nose: {at: [24, 0.6], moves_with: wagon}\n" \
	"  rail: {at: [24, -0.6], moves_with: wagon, wll: 50 kN}\n" \
	"loads: {wagon: {travels: [-1, 0], resists: 34 kN}}\n" \
	"winches: {drum: {at: nose, rated: 40 kN}}\n" \
	"blocks: {turn: {at: tree, efficiency: 0.95, wll: 60 kN}}\n" \
	"lines: {wire: {path: [drum, turn, rail], wll: 30 kN}}\n" \
	"cells: {lead: {in: wire, leg: 1}, tree cell: {holds: tree}}\n"

/* Reads a rig that must be readable. */
static inline void rig_case_read(const char *text, struct rv_rig *rig)
{
	struct rv_error error = {0};

	if (rv_rig_read(text, strlen(text), rig, &error) == RV_OK)
		return;
	print_error("%d:%d: %s\n", error.line, error.column, error.text);
	fail();
}

#endif
