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

/* A haul line made fast by a grab on the lead of a three-part line. */
#define RIG_PIGGYBACK \
	"points:\n" \
	"  deck: {at: [-3, 0]}\n" \
	"  oak: {at: [0, 0], wll: 120 kN}\n" \
	"  clamp: {at: [9, 0], floats: true}\n" \
	"  hitch: {at: [30, 0], moves_with: cart}\n" \
	"loads: {cart: {travels: [-1, 0], resists: 60 kN}}\n" \
	"winches: {drum: {at: deck, rated: 20 kN}}\n" \
	"blocks:\n" \
	"  fixed: {at: oak, efficiency: 0.92, wll: 60 kN}\n" \
	"  runner: {at: hitch, efficiency: 0.94, wll: 80 kN}\n" \
	"  rider: {at: clamp, efficiency: 0.95, wll: 40 kN}\n" \
	"lines:\n" \
	"  long: {path: [tail, clamp, runner, fixed, hitch], wll: 35 kN}\n" \
	"  short: {path: [drum, rider, oak], wll: 20 kN}\n" \
	"cells: {lead: {in: short, leg: 1}, dead: {in: long, leg: 3}}\n"

/* Burtons: a block that hangs in the bight of one line carries another. */
#define RIG_BURTON_3 \
	"points:\n" \
	"  floor: {at: [0, -1]}\n" \
	"  tie: {at: [0, 10], wll: 60 kN}\n" \
	"  bight: {at: [0, 7], floats: true}\n" \
	"  eye: {at: [0, 2], moves_with: bale}\n" \
	"loads: {bale: {travels: [0, 1], resists: 24 kN}}\n" \
	"winches: {drum: {at: floor, rated: 12 kN}}\n" \
	"blocks:\n" \
	"  upper: {at: tie, efficiency: 0.95, wll: 50 kN}\n" \
	"  lower: {at: bight, efficiency: 0.90, wll: 25 kN}\n" \
	"lines:\n" \
	"  whip: {path: [eye, upper, lower], wll: 20 kN}\n" \
	"  fall: {path: [drum, lower, eye], wll: 12 kN}\n" \
	"cells: {lead: {in: fall, leg: 1}, beam: {holds: upper}}\n"

#define RIG_BURTON_4 \
	"points:\n" \
	"  floor: {at: [0, -1]}\n" \
	"  tie: {at: [0, 10], wll: 60 kN}\n" \
	"  bight: {at: [0, 7], floats: true}\n" \
	"  eye: {at: [0, 2], moves_with: bale}\n" \
	"loads: {bale: {travels: [0, 1], resists: 24 kN}}\n" \
	"winches: {drum: {at: floor, rated: 12 kN}}\n" \
	"blocks:\n" \
	"  upper: {at: tie, efficiency: 0.95, wll: 50 kN}\n" \
	"  lower: {at: bight, efficiency: 0.90, wll: 25 kN}\n" \
	"  runner: {at: eye, efficiency: 0.93, wll: 25 kN}\n" \
	"lines:\n" \
	"  whip: {path: [runner, upper, lower], wll: 20 kN}\n" \
	"  fall: {path: [drum, lower, runner, tie], wll: 12 kN}\n" \
	"cells: {lead: {in: fall, leg: 1}, dead: {in: fall, leg: 3}}\n"

/* A weight between two winches. */
#define RIG_GULLY \
	"points:\n" \
	"  west: {at: [-10, 0]}\n" \
	"  east: {at: [12, 1]}\n" \
	"  hook: {at: [-2, -5], floats: true, weight: 9 kN}\n" \
	"winches: {west drum: {at: west, rated: 20 kN}, east drum: {at: east, rated: 20 kN}}\n" \
	"lines:\n" \
	"  west rope: {path: [west drum, hook], wll: 15 kN}\n" \
	"  east rope: {path: [east drum, hook], wll: 15 kN}\n" \
	"drive: {west drum: 1, east drum: 0}\n"

/* A turn held by a block that runs on a sling between two trees. */
#define RIG_SLING \
	"points:\n" \
	"  deck: {at: [40, -30]}\n" \
	"  fir: {at: [0, 6], wll: 60 kN}\n" \
	"  beech: {at: [-1, -5], wll: 60 kN}\n" \
	"  ring: {at: [4, 0], floats: true, wll: 70 kN}\n" \
	"  lug: {at: [46, 12], moves_with: van}\n" \
	"loads: {van: {travels: [-1, -0.2], resists: {mass: 6200 kg, slope_deg: 8, rolling: [0.12, 0.25]}}}\n" \
	"winches: {drum: {at: deck, rated: 40 kN}}\n" \
	"blocks:\n" \
	"  rider: {at: ring, efficiency: [0.90, 0.97], wll: 70 kN}\n" \
	"  turn: {at: ring, efficiency: [0.93, 0.97], wll: 50 kN}\n" \
	"lines:\n" \
	"  sling: {path: [fir, rider, beech], wll: 40 kN, length: 14.5}\n" \
	"  wire: {path: [drum, turn, lug], wll: 30 kN}\n" \
	"cells: {lead: {in: wire, leg: 1}, fir cell: {in: sling, leg: 1}}\n"

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
