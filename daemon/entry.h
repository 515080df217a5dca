/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes into the record: entries, as the engine hands them to the recorder; and what the
 * recorder found in it at start.
 */
#ifndef RV_DAEMON_ENTRY_H
#define RV_DAEMON_ENTRY_H

#include <stdint.h>

#include "core/alarm.h"
#include "core/sample.h"
#include "core/station.h"
#include "daemon/intake.h"
#include "daemon/ticket.h"
#include "schema/store.h"

enum rv_entry_kind {
	RV_ENTRY_MESSAGE,     /* one row; values with kind NONE or quality bad are NULL */
	RV_ENTRY_DEVICE,      /* what happened to a device */
	RV_ENTRY_QUALITY,     /* a channel's quality changed at t_us */
	RV_ENTRY_ALARM,	      /* an alarm changed state */
	RV_ENTRY_CONVERSION,  /* from t_us on, this is the channel's conversion (zero, wrap) */
	RV_ENTRY_RUN_OPEN,
	RV_ENTRY_RUN_CLOSE,
	RV_ENTRY_MARK,
	RV_ENTRY_STRIKE,      /* a person struck a pull, or took that back */
	RV_ENTRY_ANCHOR,      /* row time t_us was UTC utc_us */
	RV_ENTRY_RIG,	      /* the rig on the ground from t_us on (kept in the record) */
};

struct rv_entry {
	enum rv_entry_kind kind;
	int64_t t_us; /* row time */
	struct rv_ticket *ticket; /* completed after the commit that holds this entry; or NULL */
	union {
		struct rv_message message;
		struct {
			int device; /* -1: the station itself */
			char what[32]; /* "opened", "closed", "lost", "clock step", "start", "stop" */
			enum rv_fault fault;
			int64_t count;	  /* messages lost */
			int64_t until_us; /* end of the span that `count` covers */
			char text[120];
		} device;
		struct {
			int channel;
			enum rv_quality quality;
			enum rv_cause cause;
		} quality;
		struct {
			char name[2 * RV_NAME_SIZE];
			enum rv_alarm_level level;
			enum rv_alarm_state state;
			double value;
			char unit[RV_NAME_SIZE];
			char text[160];
			char by_whom[RV_NAME_SIZE];
		} alarm;
		struct {
			int channel;
			struct rv_conversion conversion;
			double zero;
			char why[32]; /* "wrap", "zero" */
		} conversion;
		struct {
			int64_t number;
			char name[2 * RV_NAME_SIZE];
			char how[16]; /* "by hand", "by itself" */
			char *rig_text; /* taken over by the recorder (freed there); NULL = none */
			char rig_name[2 * RV_NAME_SIZE];
		} run_open;
		struct {
			int64_t number;
			char why[64];
		} run_close;
		struct {
			double travel_m; /* NaN = not said */
			char text[240];
			char by_whom[RV_NAME_SIZE];
		} mark;
		struct rv_store_strike strike; /* its t_us is the entry's */
		struct {
			int64_t mono_ns, utc_us;
			bool trusted;
			char why[32]; /* "start", "step", "set" */
		} anchor;
		struct {
			char *text; /* taken over; NULL = no rig */
			char name[2 * RV_NAME_SIZE];
			bool by_page; /* from the page: wins over the station's */
		} rig; /* the station's own at start (by_page false), and every change */
	};
};

/* What the recorder found in the record at start. */
struct rv_recorder_start {
	int64_t newest_us;  /* newest reading, 0 when there is none */
	int64_t latest_us;  /* the latest row time of any kind: for rv_clock_fix */
	int64_t last_run;   /* highest run number ever used */
	int64_t open_run;   /* a run left open by the last stop, or 0 */
	char open_run_name[2 * RV_NAME_SIZE];
	char open_run_how[16]; /* "by hand", "by itself" */
	int64_t open_run_from_us;
	char *open_run_rig; /* its rig as text; NULL = without one; caller frees.  If the rig on the
			     * ground is another now, put RV_ENTRY_RUN_CLOSE at newest_us + 1 */
	int64_t ended_run;  /* a run that could not go on with this station's channels: it was
			     * closed at its last reading; or 0 */
	char ended_why[160];
	bool rig_is_set;    /* a rig was set from the page and not taken back */
	char *rig_text;	    /* that rig, caller frees; NULL with rig_is_set = set to no rig */
	char rig_name[2 * RV_NAME_SIZE];
	int64_t readings;   /* rows' values so far, for the page's counter */
	bool unclean;	    /* the last daemon was killed: it never said "stop" */
	struct rv_store_in_force in_force[RV_CHANNELS]; /* start converting with these: wraps and
							 * zeros outlive a restart */
};

#endif
