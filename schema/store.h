/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The record: the one public face of the only code that knows SQLite.  A writing store belongs to
 * one thread; a reading store (read-only connection, short transactions) to one thread each.
 *
 * Times (*_us) are row time: microseconds since 1970-01-01 UTC on the record's own axis, which
 * never steps; rv_store_utc_us brings one to UTC by the clock anchors.  Spans are half open:
 * [from_us, to_us).  Values are calibrated: N, m, or the channel's own unit; NaN = unknown.
 *
 * RV_ERR_STORE: SQLite said no; error's text has its words.  RV_ERR_REFUSED carries a tag:
 * "foreign" (no reeve record), "newer" (made by a newer reeve), "older" (a reader met a record that
 * the daemon has yet to bring up to date), "damaged", "run_unknown", "name_taken", "bad_name",
 * "run_open", "no_run", "number_taken".  RV_ERR_BUSY: another program writes this record.
 */
#ifndef RV_SCHEMA_STORE_H
#define RV_SCHEMA_STORE_H

#include <stdint.h>

#include "core/alarm.h"
#include "core/err.h"
#include "core/sample.h"
#include "core/station.h"
#include "core/utc.h"

/* The end of a span that is still open. */
#define RV_STORE_FOREVER INT64_MAX

struct rv_store;

/* ---- reading: the commands and the page --------------------------------------------------- */

/* Never makes, changes or upgrades a file.  RV_ERR_MISSING: there is none at path. */
enum rv_err rv_store_open_reader(const char *path, struct rv_store **store, struct rv_error *error);

/* Either kind.  A writing store checkpoints first.  NULL is fine. */
void rv_store_close(struct rv_store *store);

/* The path it was opened by; lives as long as the store. */
const char *rv_store_path(const struct rv_store *store);

/* UTC of row time by the newest clock anchor of the same boot, a trusted one before any other;
 * t_us itself when there is none. */
int64_t rv_store_utc_us(struct rv_store *store, int64_t t_us);
/* What is to be added to row times from t_us to *until_us, so that many are brought to UTC by one
 * question. */
int64_t rv_store_utc_offset_us(struct rv_store *store, int64_t t_us, int64_t *until_us);
void rv_store_utc(struct rv_store *store, int64_t t_us, char text[RV_UTC_SIZE]);

struct rv_store_run {
	int64_t number;
	char name[2 * RV_NAME_SIZE];
	char how[16];	/* "by hand", "by itself", "past", "import" */
	char ended[64]; /* why it was closed; "" while open */
	char rig[2 * RV_NAME_SIZE]; /* name of its rig; "" = declared without one */
	char notes[8 * RV_NAME_SIZE];
	char unit[16];	/* of force, that people see on its station */
	bool simulated; /* its instruments were played */
	int64_t from_us;
	int64_t to_us;	/* RV_STORE_FOREVER while open */
	int64_t end_us; /* to_us, or while open 1 us after its newest reading (from_us: none yet) */
};

/* word: a run's number, or its name.  RV_ERR_REFUSED "run_unknown" names what there is. */
enum rv_err rv_store_find_run(struct rv_store *store, const char *word, int64_t *number,
			      struct rv_error *error);
enum rv_err rv_store_get_run(struct rv_store *store, int64_t number, struct rv_store_run *run,
			     struct rv_error *error);

/* All runs, oldest first; *runs is the caller's to free. */
enum rv_err rv_store_runs(struct rv_store *store, struct rv_store_run **runs, size_t *count,
			  struct rv_error *error);

/* The run's frozen rig and station files, added to the texts (nothing is added for a run without
 * a rig).  Either may be NULL. */
enum rv_err rv_store_run_texts(struct rv_store *store, int64_t number, struct rv_text *rig,
			       struct rv_text *station, struct rv_error *error);

/* A channel as a run holds it.  Of the declaration is filled: name, quantity, unit, cell, winch,
 * load, motion, capacity, tare_n, wraps_at, calibration, and wire_unit with the unit of a device that
 * sends it itself. */
struct rv_store_channel {
	char device[RV_NAME_SIZE];
	struct rv_channel declared;
};

struct rv_store_channels {
	int count;
	struct rv_store_channel channel[RV_CHANNELS]; /* in the station's order */
};

enum rv_err rv_store_run_channels(struct rv_store *store, int64_t number,
				  struct rv_store_channels *channels, struct rv_error *error);

/* One calibrated reading; channel counts in rv_store_run_channels. */
struct rv_store_reading {
	int64_t t_us;
	int channel;
	double value;
};

/* Walks the calibrated readings of a run in time order, those of one instant in order of channel.
 * It reads page by page in short transactions, so it never holds up the writer's checkpoints; what
 * is committed meanwhile at later times is seen.  Bad and missing readings are not listed. */
struct rv_store_cursor;

/* Readings with from_us <= t_us < to_us that lie in the run. */
enum rv_err rv_store_cursor_open(struct rv_store *store, int64_t number, int64_t from_us,
				 int64_t to_us, struct rv_store_cursor **cursor,
				 struct rv_error *error);
/* RV_ERR_CLOSED after the last one. */
enum rv_err rv_store_cursor_next(struct rv_store_cursor *cursor, struct rv_store_reading *reading,
				 struct rv_error *error);
void rv_store_cursor_close(struct rv_store_cursor *cursor);

/* From now on the channel's raw readings are valued by this conversion.  A zero that was in force is
 * taken off anew: the raw number that read zero then reads zero again.  Not for counters that roll
 * over. */
void rv_store_cursor_convert_by(struct rv_store_cursor *cursor, int channel,
				const struct rv_conversion *conversion);

struct rv_store_mark {
	int64_t t_us;
	double travel_m; /* NaN = not said */
	char text[240];
	char by_whom[RV_NAME_SIZE];
};

struct rv_store_alarm {
	int64_t t_us;
	char name[2 * RV_NAME_SIZE];
	char level[16], state[32]; /* as core/alarm names them */
	double value;
	char unit[RV_NAME_SIZE];
	char text[160];
	char by_whom[RV_NAME_SIZE];
};

/* A stretch without readings, or with bad ones, and why. */
struct rv_store_gap {
	int64_t from_us, to_us; /* to_us: RV_STORE_FOREVER while it lasts */
	char what[32];		/* "lost", "closed", "restart", "bad", "uncertain", ... */
	char device[RV_NAME_SIZE], channel[RV_NAME_SIZE]; /* "" = not of one */
	char cause[32];
	int64_t count; /* messages lost; 0 = not counted in messages */
	char text[120];
};

/* What lies in [from_us, to_us), in time order; the caller frees the array. */
enum rv_err rv_store_marks(struct rv_store *store, int64_t from_us, int64_t to_us,
			   struct rv_store_mark **marks, size_t *count, struct rv_error *error);
enum rv_err rv_store_alarms(struct rv_store *store, int64_t from_us, int64_t to_us,
			    struct rv_store_alarm **alarms, size_t *count, struct rv_error *error);
enum rv_err rv_store_gaps(struct rv_store *store, int64_t from_us, int64_t to_us,
			  struct rv_store_gap **gaps, size_t *count, struct rv_error *error);

/* What a person said of a pull: that it does not count, and why; or that it does after all. */
struct rv_store_strike {
	int64_t run;
	int64_t pull;	  /* the number it was shown by */
	int64_t start_us; /* of the pull: by this it is found again */
	int64_t t_us;	  /* when it was said */
	char reason[160]; /* "" = an earlier strike is taken back */
	char by_whom[RV_NAME_SIZE];
};
/* All that was ever said of a run's pulls, oldest first; the caller frees the array. */
enum rv_err rv_store_strikes(struct rv_store *store, int64_t number,
			     struct rv_store_strike **strikes, size_t *count,
			     struct rv_error *error);
/* The strike that holds for the pull which begins at start_us (within a second: pulls last longer,
 * and another pair of cells may see one begin a little later); NULL = it is not struck. */
const struct rv_store_strike *rv_store_strike_of(const struct rv_store_strike *strikes,
						 size_t count, int64_t start_us);

/* An estimate as it was made; its texts are the caller's to free when it was read. */
struct rv_store_estimate {
	int64_t made_us; /* row time */
	char *runs;	 /* numbers, joined by "+" */
	char *asked;	 /* JSON */
	char *made_by;	 /* version of reeve */
	char *result;	 /* the JSON of `reeve estimate` */
};
/* Those of exactly these runs, oldest first. */
enum rv_err rv_store_estimates(struct rv_store *store, const char *runs,
			       struct rv_store_estimate **estimates, size_t *count,
			       struct rv_error *error);
void rv_store_estimates_free(struct rv_store_estimate *estimates, size_t count);

/* A reading store asks now and then while it works; true = it gives up with RV_ERR_STORE.  So that
 * a long run cannot hold up a thread for good. */
void rv_store_stop_when(struct rv_store *store, int (*stop)(void *arg), void *arg);

/* ---- writing: the recorder, and programs that make a record ------------------------------- */

/* Opens the record for writing, or makes a new one (0600).  A file that is no reeve record, is
 * damaged or comes from a newer reeve is refused and left as it is; an older one is upgraded after
 * a copy was written beside it (PATH.before-N).  One writer at a time: RV_ERR_BUSY. */
enum rv_err rv_store_open_writer(const char *path, struct rv_store **store, struct rv_error *error);

/* What a record holds at start. */
struct rv_store_found {
	int64_t newest_us; /* newest reading, 0 = none */
	int64_t latest_us; /* the latest row time of any table: no clock may begin before it */
	int64_t last_run;  /* highest number ever used */
	int64_t open_run;  /* or 0 */
	int64_t readings;
	bool unclean; /* the last writer never said "stop" */
	bool rig_is_set; /* from the page: text and name are then given */
	struct rv_text rig_text; /* the caller frees */
	char rig_name[2 * RV_NAME_SIZE];
};
enum rv_err rv_store_find(struct rv_store *store, struct rv_store_found *found,
			  struct rv_error *error);

/* What the record applies to a channel's raw numbers. */
struct rv_store_in_force {
	struct rv_conversion conversion; /* a zero is already taken off a[0] */
	double zero;
};

/* Looks, before anything is declared, how the station agrees with what the record last held.
 * in_force[channel]: the station's conversion, or, where nothing about the channel changed, the
 * last one with its wraps and zeros: the engine starts from it.
 * fits: whether an open run can go on; if not, why names the first difference (a channel, its place
 * in the messages, its calibration). */
struct rv_store_match {
	struct rv_store_in_force in_force[RV_CHANNELS];
	bool fits;
	char why[160];
};
enum rv_err rv_store_match_station(struct rv_store *store, const struct rv_station *station,
				   struct rv_store_match *match, struct rv_error *error);

/* Declares what is measured from t_us on.  Known layouts and calibrations are used again, changed
 * ones become new rows; nothing is ever rewritten.  Once, before any message; a transaction of its
 * own.  RV_ERR_REFUSED "run_open": a run is open that does not fit. */
enum rv_err rv_store_set_station(struct rv_store *store, const struct rv_station *station,
				 const char *station_text, int64_t t_us, struct rv_error *error);

/* Between begin and commit (or rollback) stand the calls below.  A failure of begin, commit or any
 * RV_ERR_STORE means the whole batch is not in the record. */
enum rv_err rv_store_begin(struct rv_store *store, struct rv_error *error);
enum rv_err rv_store_commit(struct rv_store *store, struct rv_error *error);
void rv_store_rollback(struct rv_store *store);

/* One row.  Put at *t_us, or at the next free microsecond.  readings grows by the values that are
 * readings. */
enum rv_err rv_store_add_message(struct rv_store *store, const struct rv_message *message,
				 int64_t t_us, int64_t *readings, struct rv_error *error);

struct rv_store_event {
	int64_t t_us, until_us;
	int device; /* index in the station, -1 = the station itself */
	const char *what, *cause, *text;
	int64_t count;
};
enum rv_err rv_store_add_event(struct rv_store *store, const struct rv_store_event *event,
			       struct rv_error *error);
/* Closes the channel's open quality span, and opens one unless the quality is good. */
enum rv_err rv_store_set_quality(struct rv_store *store, int channel, int64_t t_us,
				 enum rv_quality quality, enum rv_cause cause,
				 struct rv_error *error);
enum rv_err rv_store_add_alarm(struct rv_store *store, const struct rv_store_alarm *alarm,
			       struct rv_error *error);
enum rv_err rv_store_add_mark(struct rv_store *store, const struct rv_store_mark *mark,
			      struct rv_error *error);
/* From t_us on this is the channel's conversion, inside an open run too. */
enum rv_err rv_store_set_conversion(struct rv_store *store, int channel, int64_t t_us,
				    const struct rv_store_in_force *now, struct rv_error *error);

/* Never over another one.  RV_ERR_REFUSED "constraint": there is no such run. */
enum rv_err rv_store_add_strike(struct rv_store *store, const struct rv_store_strike *strike,
				struct rv_error *error);
/* made_by is this reeve, whatever estimate says. */
enum rv_err rv_store_add_estimate(struct rv_store *store, const struct rv_store_estimate *estimate,
				  struct rv_error *error);

struct rv_store_anchor {
	const char *boot, *why;
	int64_t mono_ns, t_us, utc_us;
	bool trusted;
};
enum rv_err rv_store_add_anchor(struct rv_store *store, const struct rv_store_anchor *anchor,
				struct rv_error *error);
/* The rig on the ground from t_us on; text NULL = none.  by_page: set from the page, wins over the
 * station's after a restart. */
enum rv_err rv_store_set_rig(struct rv_store *store, int64_t t_us, const char *name,
			     const char *text, bool by_page, struct rv_error *error);

struct rv_store_opening {
	int64_t number; /* 0 = the next free one */
	int64_t t_us;
	const char *name; /* not all digits, never used before */
	const char *how;  /* "by hand", "by itself" */
	const char *rig_name, *rig_text; /* NULL = none */
};
enum rv_err rv_store_open_run(struct rv_store *store, const struct rv_store_opening *opening,
			      struct rv_error *error);
/* Ends the open run at t_us (half open). */
enum rv_err rv_store_close_run(struct rv_store *store, int64_t number, int64_t t_us,
			       const char *why, struct rv_error *error);

/* ---- an import: a run that was recorded elsewhere ------------------------------------------
 *
 * begin; then batches of messages of device 0 (rv_store_begin, rv_store_add_message, rv_store_commit),
 * as many as suit; then end, or undo.  Until end has returned, nobody sees anything of it.  What a crash
 * left behind stays unseen, and the next import into the record clears it away. */

struct rv_store_import {
	int64_t number; /* of the run: begin sets it */
	/* One device, whose name and link begin sets; its channels in order of the columns.  Kept with
	 * the run as declared, but readings are a1[channel] times the number in the file. */
	struct rv_station *station;
	const char *station_text;
	double a1[RV_CHANNELS];
	int64_t from_us, to_us; /* UTC; to_us counts at end */
	const char *name, *notes; /* of the run; name: not all digits, never used; NULL = "import N" */
	char made_name[RV_NAME_SIZE]; /* "import N": begin sets it */
	const char *rig_name, *rig_text; /* NULL = none */
	const struct rv_store_mark *marks;
	size_t mark_count;
	int64_t mine[3]; /* the store's: what was there before */
};
enum rv_err rv_store_import_begin(struct rv_store *store, struct rv_store_import *import,
				  struct rv_error *error);
enum rv_err rv_store_import_end(struct rv_store *store, const struct rv_store_import *import,
				struct rv_error *error);
/* Leaves the record as it was before begin. */
enum rv_err rv_store_import_undo(struct rv_store *store, const struct rv_store_import *import,
				 struct rv_error *error);
/* The day on which the next recording without a date is filed: the first one from 1970-01-01 on that
 * no other such recording touches. */
enum rv_err rv_store_import_undated(struct rv_store *store, int64_t *from_us,
				    struct rv_error *error);

/* Inside a transaction: notes how many readings there are, so that the next start need not count
 * them all.  Worth doing before a checkpoint. */
enum rv_err rv_store_keep_count(struct rv_store *store, struct rv_error *error);
/* Between transactions.  Moves what is in the log into the file; whole = and empties the log. */
enum rv_err rv_store_checkpoint(struct rv_store *store, bool whole, struct rv_error *error);
/* Pages in the log since the last checkpoint that emptied it. */
int rv_store_log_pages(const struct rv_store *store);
/* The file that was opened is no longer the one at its path: deleted, renamed or replaced. */
bool rv_store_has_moved(struct rv_store *store);

#endif
