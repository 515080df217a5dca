/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station as declared: the instruments of one logger, its channels, alarms and outputs.  Plain
 * values, filled by core/station_read and never changed afterwards.  Units: SI and seconds.  A
 * number that was not given is NaN, an index that points at nothing is -1.
 */
#ifndef RV_CORE_STATION_H
#define RV_CORE_STATION_H

#include <stdint.h>

#include "core/err.h"
#include "core/text.h"
#include "core/units.h"

enum {
	RV_DEVICES = 16,
	RV_CHANNELS = 64,
	RV_ALARMS = 64,
	RV_OUTPUTS = 16,
	RV_PATH_SIZE = 512,
	RV_PATTERN_SIZE = 512,
	RV_WORDS = 8, /* accepted words of one good_when group */
};

enum rv_link {
	RV_LINK_MODBUS_TCP,
	RV_LINK_MODBUS_RTU,
	RV_LINK_SERIAL_TEXT,
	RV_LINK_FILE, /* an imported table: no station file has it */
};

struct rv_device {
	char name[RV_NAME_SIZE];
	enum rv_link link;
	char address[RV_NAME_SIZE]; /* Modbus TCP */
	int port;
	char path[RV_PATH_SIZE]; /* serial */
	int speed_baud;
	int data_bits; /* frame: 8N1 and so on */
	char parity;   /* 'N', 'E', 'O' */
	int stop_bits;
	int unit;	/* Modbus unit identifier */
	double every_s; /* spacing of polls, or of what `ask` brings; NaN = as it comes */
	double timeout_s;
	double settle_s; /* quiet time after opening */
	char pattern[RV_PATTERN_SIZE]; /* serial text: PCRE2 with named groups */
	char ask[RV_NAME_SIZE];	       /* text sent to get an answer; "" = it talks by itself */
	int ask_len;
	bool write; /* writing to it is allowed although it carries a channel */
	int line;   /* place in the file, for messages */
};

enum rv_quantity {
	RV_TENSION,
	RV_PAYOUT,
	RV_TURNS,
	RV_TRAVEL,
	RV_SWITCH,
	RV_OTHER,
};

enum rv_register_space { RV_REGISTER_INPUT, RV_REGISTER_HOLDING, RV_REGISTER_DISCRETE, RV_REGISTER_COIL };

enum rv_number_type { RV_INT16, RV_UINT16, RV_INT32, RV_UINT32, RV_FLOAT32, RV_INT64, RV_FLOAT64 };

enum rv_byte_order { RV_ORDER_ABCD, RV_ORDER_BADC, RV_ORDER_CDAB, RV_ORDER_DCBA };

struct rv_register {
	enum rv_register_space space;
	int address; /* protocol address, from 0 */
	int bit;     /* one bit of a register, or -1 */
};

/* How sure something is, as stated: a standard uncertainty, brought to one form by the reader. */
struct rv_stated {
	double ratio; /* standard uncertainty relative to the reading; NaN or 0 when absolute */
	double value; /* standard uncertainty in the channel's unit; NaN when relative */
};

enum rv_motion { RV_MOTION_UNKNOWN, RV_MOTION_IN, RV_MOTION_OUT, RV_MOTION_HOLD, RV_MOTION_UNSTEADY };

/* value = a0 + a1 raw + a2 raw^2 + a3 raw^3 in the channel's SI unit. */
struct rv_conversion {
	double a[4];
	int degree; /* 1 .. 3 */
};

/* What turns raw into a value and what is known of it. */
struct rv_calibration {
	char name[RV_NAME_SIZE]; /* "unit", "scale", "imported", or the calibration file's name */
	struct rv_conversion conversion;
	struct rv_stated gain, zero, drift;
	double delay_s;
	double inverse_error_n; /* of the way back through the cell's curve, at most; NaN: not known */
	char due[16];	 /* ISO date; "" when none */
	char sha256[65]; /* of the points; "" when none */
	char overrides[RV_NAME_SIZE]; /* keys of the file that the station states as well and wins */
	char file[RV_PATH_SIZE];
};

struct rv_channel {
	char name[RV_NAME_SIZE];
	enum rv_quantity quantity;
	char cell[RV_NAME_SIZE];   /* tension */
	char winch[RV_NAME_SIZE];  /* payout, turns, switch; "" = the only one */
	char load[RV_NAME_SIZE];   /* travel */
	enum rv_motion motion;	   /* switch: what a closed contact means */
	int device;		   /* -1 only where the station is read for an import */
	struct rv_register source; /* Modbus */
	enum rv_number_type type;
	enum rv_byte_order order;
	char field[RV_NAME_SIZE]; /* serial text: the group that carries the value */
	char wire_unit[RV_NAME_SIZE]; /* the unit the device sends, as written; "" when a count */
	char unit[RV_NAME_SIZE];      /* of the calibrated value: "N", "m", or the free one */
	struct rv_calibration calibration;
	double capacity;   /* in the value's unit; NaN when not said */
	bool capacity_as_mass; /* stamped as a mass: times standard gravity */
	double tare_n;	   /* taken off for the estimate, never for an alarm */
	double wraps_at;   /* the counter rolls over here; NaN = never */
	double updates_hz; /* the instrument's own rate: repeats are no new readings; NaN */
	struct {
		bool used;
		struct rv_register source; /* Modbus */
		char field[RV_NAME_SIZE];  /* serial text */
		double changes_within_s;
	} alive;
	struct {
		char field[RV_NAME_SIZE]; /* "" = not used */
		int words;
		char word[RV_WORDS][RV_NAME_SIZE];
	} good_when;
	struct rv_stated travel_uncertainty;
	int line;
};

enum rv_alarm_condition {
	RV_ALARM_ABOVE,
	RV_ALARM_BELOW,
	RV_ALARM_RISES_FASTER,
	RV_ALARM_FALLS_FASTER,
	RV_ALARM_SPEED_ABOVE,
};

enum rv_alarm_level { RV_LEVEL_WARNING, RV_LEVEL_DANGER };

struct rv_alarm_rule {
	char name[RV_NAME_SIZE];
	int channel;		      /* index, or -1 */
	char component[RV_NAME_SIZE]; /* a component's name or "any"; "" when a channel's */
	enum rv_alarm_condition condition;
	double limit;	 /* SI of the channel (per second for rates), or ratio of a component's limit */
	double deadband; /* same unit as limit; NaN = the engine's default */
	double delay_s, clear_delay_s;
	bool latch;
	enum rv_alarm_level level;
	char action[2 * RV_NAME_SIZE];
	int line;
};

enum rv_output_kind { RV_OUTPUT_SOUND, RV_OUTPUT_LIGHT };

struct rv_output {
	char name[RV_NAME_SIZE];
	int device;
	int coil;
	enum rv_alarm_level when; /* driven at this level and above */
	enum rv_output_kind kind;
	bool rest_energised;
	int line;
};

struct rv_station {
	char name[2 * RV_NAME_SIZE];
	char record[RV_PATH_SIZE]; /* as written: relative to the station file */
	char rig[RV_PATH_SIZE];	   /* "" = none */
	bool rehearsal;		   /* the instruments are played: everything says SIMULATED */
	enum rv_force_unit unit;
	char listen[RV_NAME_SIZE];
	int port; /* 0 = any that is free */
	double open_above_n;  /* NaN = runs open by hand only */
	double close_after_s;
	double keep_s; /* how long readings outside runs stay */
	int devices, channels, alarms, outputs;
	struct rv_device device[RV_DEVICES];
	struct rv_channel channel[RV_CHANNELS];
	struct rv_alarm_rule alarm[RV_ALARMS];
	struct rv_output output[RV_OUTPUTS];
};

const char *rv_station_link_name(enum rv_link link);	     /* "modbus-tcp", ... */
const char *rv_station_quantity_name(enum rv_quantity quantity); /* "tension", ... */
const char *rv_station_motion_name(enum rv_motion motion); /* "in", "out", "hold", "unsteady"; NULL for UNKNOWN */
const char *rv_station_level_name(enum rv_alarm_level level);

/* Index of the channel or device with that name, or -1. */
int rv_station_find_channel(const struct rv_station *station, const char *name);
int rv_station_find_device(const struct rv_station *station, const char *name);

/* The value of a raw number. */
double rv_station_convert(const struct rv_conversion *conversion, double raw);

/* True for an address that only this machine reaches: 127.x.x.x, ::1, localhost. */
bool rv_station_is_loopback(const char *address);

/* Whether reeve may write to the device: it carries no measured channel (a contactor's switch does
 * not count), or the station says write: true. */
bool rv_station_may_write(const struct rv_station *station, int device);

/* The channel's place in its device's messages: channels of a device are numbered in file order;
 * number k travels in part k / RV_MESSAGE_VALUES at place k % RV_MESSAGE_VALUES. */
int rv_station_place(const struct rv_station *station, int channel);

/* The channel at that place of that device, or -1. */
int rv_station_channel_at(const struct rv_station *station, int device, int place);

#endif
