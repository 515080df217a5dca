/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rehearsal as written in a scenario file: the physical truth (line, load, winch, cells), the
 * instruments that show it, and the faults they play.  Plain values in SI, filled by
 * rv_rehearse_scenario_read and never changed afterwards.
 *
 * A scenario knows nothing of rig or station files and shares no formula with the programs it
 * tests: the truth is stated here a second time, on purpose.
 */
#ifndef RV_TOOLS_REHEARSE_SCRIPT_H
#define RV_TOOLS_REHEARSE_SCRIPT_H

#include <stdbool.h>
#include <stdint.h>

enum {
	RV_REHEARSE_NAME = 48,
	RV_REHEARSE_LEGS = 8,
	RV_REHEARSE_MOVES = 64,
	RV_REHEARSE_CELLS = 8,
	RV_REHEARSE_INSTRUMENTS = 8,
	RV_REHEARSE_FIELDS = 32,
	RV_REHEARSE_FAULTS = 64,
	RV_REHEARSE_TEMPLATE = 128,
};

/* One line over sheaves; leg 1 leaves the winch, the last leg ends at the dead end.  Sheave k sits
 * between leg k and leg k + 1 (from 0: between leg[k] and leg[k + 1]). */
struct rv_rehearse_line {
	double stiffness_n; /* force for 100 % stretch */
	int legs;
	double leg_m[RV_REHEARSE_LEGS];	 /* at the start */
	bool on_load[RV_REHEARSE_LEGS];	 /* pulls the load and shortens as it comes */
	double efficiency[RV_REHEARSE_LEGS]; /* of each sheave: tension out / tension in, turning */
	double turn_over_m;	 /* rope travel over which friction turns over (e-fold) */
	double pull_scatter_ratio;	 /* standard deviation per pull: once common, once each sheave */
	double irregularity_ratio, irregularity_m; /* along the rope: standard deviation, length */
	double each_turn_ratio, circumference_m;   /* once in a turn of the sheave: amplitude */
};

struct rv_rehearse_load {
	double mass_kg;
	double pulls_back_n; /* by itself: hung weight, slope */
	double resists_n;    /* against motion, either way */
	double grows_npm;    /* resistance grows by this for each metre it comes */
	double noise_ratio, noise_m; /* of the resistance, along the way */
	double sticks_ratio; /* to break away takes this much more than to keep going */
	double stop_behind_m; /* it cannot run back further than this behind its start */
};

/* One move of the winch.  distance_m > 0 hauls in, < 0 pays out, 0 holds for wait_s. */
struct rv_rehearse_move {
	double distance_m;
	double speed_mps;
	double wait_s;
};

struct rv_rehearse_winch {
	double line_out_m; /* payout at the start */
	double ramp_s;	   /* time to reach full speed, and to stop */
	int moves;
	struct rv_rehearse_move move[RV_REHEARSE_MOVES];
};

struct rv_rehearse_cell {
	char name[RV_REHEARSE_NAME];
	bool leg[RV_REHEARSE_LEGS]; /* the legs whose tensions it adds up */
	double gain_error_ratio, offset_n;
	double noise_n; /* white, standard deviation of one reading */
	double delay_s, filter_s; /* dead time, then a first-order filter */
	double resolution_n; /* smallest step; 0 = none */
};

enum rv_rehearse_shown {
	RV_REHEARSE_SHOWS_CELL,	   /* newtons */
	RV_REHEARSE_SHOWS_PAYOUT,  /* metres */
	RV_REHEARSE_SHOWS_TRAVEL,  /* metres the load has come */
	RV_REHEARSE_SHOWS_HAULING, /* 1 while the winch hauls in */
	RV_REHEARSE_SHOWS_PAYING,  /* 1 while the winch pays out */
	RV_REHEARSE_SHOWS_ALIVE,   /* counts refreshes; stops with its cell */
	RV_REHEARSE_SHOWS_NUMBER,  /* always the same */
	RV_REHEARSE_SHOWS_WRITTEN, /* what was last written to it */
};

enum rv_rehearse_space {
	RV_REHEARSE_COIL,
	RV_REHEARSE_DISCRETE,
	RV_REHEARSE_HOLDING,
	RV_REHEARSE_INPUT,
	RV_REHEARSE_SPACES
};

enum rv_rehearse_type {
	RV_REHEARSE_INT16,
	RV_REHEARSE_UINT16,
	RV_REHEARSE_INT32,
	RV_REHEARSE_UINT32,
	RV_REHEARSE_FLOAT32,
	RV_REHEARSE_INT64,
	RV_REHEARSE_FLOAT64,
};

enum rv_rehearse_order {
	RV_REHEARSE_ABCD, /* most significant byte first */
	RV_REHEARSE_BADC, /* bytes of each register swapped */
	RV_REHEARSE_CDAB, /* registers in reverse */
	RV_REHEARSE_DCBA, /* both */
};

/* What one number on the wire shows: wire = zero + value / per_count, rounded where the wire
 * carries whole numbers, counted round at wraps_at when that is set. */
struct rv_rehearse_field {
	char name[RV_REHEARSE_NAME]; /* in a text; "" for a register */
	enum rv_rehearse_shown shows;
	int cell;	 /* SHOWS_CELL; SHOWS_ALIVE: -1 = of the instrument as a whole */
	double number;	 /* SHOWS_NUMBER */
	double per_count;
	char unit[8]; /* the unit people would name, "" for a count */
	double zero;
	double wraps_at; /* 0 = never */
	enum rv_rehearse_space space;
	int address;
	int bit; /* one bit of a register, or -1 */
	enum rv_rehearse_type type;
	enum rv_rehearse_order order;
};

enum rv_rehearse_link { RV_REHEARSE_TCP, RV_REHEARSE_RTU, RV_REHEARSE_TEXT };

struct rv_rehearse_instrument {
	char name[RV_REHEARSE_NAME];
	enum rv_rehearse_link link;
	int port;			/* TCP */
	char wire[RV_REHEARSE_NAME];	/* the others: name of the link in the directory of wires */
	int unit;			/* Modbus unit identifier */
	double refresh_s;		/* the instrument's own rate; for a text that talks: per line */
	char ask[16];			/* text: answers to this; ask_len 0 = talks by itself */
	int ask_len;
	char line[RV_REHEARSE_TEMPLATE]; /* text: {NAME:WIDTH.PLACES}, {NAME:unit} */
	int fields;
	struct rv_rehearse_field field[RV_REHEARSE_FIELDS];
};

enum rv_rehearse_fault_kind {
	RV_REHEARSE_PARTS,	/* the line parts */
	RV_REHEARSE_DEAD_CELL,	/* its gateway repeats the last value */
	RV_REHEARSE_CREEPS,	/* the brake lets line go */
	RV_REHEARSE_ZEROED,	/* someone zeroes the cell under load */
	RV_REHEARSE_OVERLOAD,	/* the load pulls back and resists more */
	RV_REHEARSE_SURGES,	/* it does so again and again, as a saw-tooth */
	RV_REHEARSE_SILENT,	/* no answer, no line */
	RV_REHEARSE_LATE,	/* answers after `by_s` */
	RV_REHEARSE_GARBAGE,	/* bytes that mean nothing */
	RV_REHEARSE_HALF,	/* the message breaks off */
	RV_REHEARSE_EXCEPTION,	/* a Modbus exception */
	RV_REHEARSE_WRONG_UNIT, /* the text shows another unit */
	RV_REHEARSE_UNPLUGGED,	/* wire gone, port closed */
	RV_REHEARSE_FAULT_KINDS
};

struct rv_rehearse_fault {
	enum rv_rehearse_fault_kind kind;
	double at_s, for_s;
	int cell;	/* DEAD_CELL, ZEROED; else -1 */
	int instrument; /* of the faults on a wire; else -1 */
	double by;	/* ratio, metres or seconds */
	double every_s; /* SURGES */
	double speed_mps;
	double share; /* of the messages */
	int code;     /* EXCEPTION */
	char unit[8]; /* WRONG_UNIT */
};

struct rv_rehearse_scenario {
	char name[RV_REHEARSE_NAME];
	uint64_t seed;
	int rounds; /* how often the timetable is played; 0 = until interrupted */
	double lasts_s; /* one round */
	double step_s;
	struct rv_rehearse_line line;
	struct rv_rehearse_load load;
	struct rv_rehearse_winch winch;
	int cells, instruments, faults;
	struct rv_rehearse_cell cell[RV_REHEARSE_CELLS];
	struct rv_rehearse_instrument instrument[RV_REHEARSE_INSTRUMENTS];
	struct rv_rehearse_fault fault[RV_REHEARSE_FAULTS];
};

/* "dead cell", ...: the word in the file. */
const char *rv_rehearse_script_fault_name(enum rv_rehearse_fault_kind kind);

/* SI value of one of the unit (kN, kg, m, ...), or 0 when there is no such unit.  Masses are taken
 * as forces at standard gravity, as scales show them. */
double rv_rehearse_script_unit(const char *name);

#endif
