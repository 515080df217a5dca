/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How an entry goes into the record, and what the record must hold should it have to be opened
 * again: after an error of the disk, or after somebody deleted the file.  Used by the recorder
 * thread alone.
 */
#ifndef RV_DAEMON_LEDGER_H
#define RV_DAEMON_LEDGER_H

#include "daemon/entry.h"

struct rv_ledger {
	const struct rv_station *station; /* borrowed */
	char *station_text;
	char path[RV_PATH_SIZE];
	struct rv_store *store; /* NULL while it cannot be opened */

	/* What is committed and still holds. */
	struct rv_store_in_force in_force[RV_CHANNELS];
	enum rv_quality quality[RV_CHANNELS];
	enum rv_cause cause[RV_CHANNELS];
	struct {
		int64_t number; /* 0 = none open */
		char name[2 * RV_NAME_SIZE], how[16];
		char rig_name[2 * RV_NAME_SIZE], *rig_text;
	} run;
	struct {
		char name[2 * RV_NAME_SIZE], *text;
		bool by_page, known;
	} rig;
};

/* Inside the store's transaction.  RV_ERR_REFUSED: the record does not take this entry; all others
 * go on.  readings grows by what the entry brought. */
enum rv_err rv_ledger_add(struct rv_ledger *ledger, const struct rv_entry *entry,
			  int64_t *readings, struct rv_error *error);

/* After the commit: what of the entry still holds.  Takes its texts out of it. */
void rv_ledger_note(struct rv_ledger *ledger, struct rv_entry *entry);

/* A device event of the station itself. */
enum rv_err rv_ledger_event(struct rv_ledger *ledger, int64_t t_us, const char *what,
			    const char *text, struct rv_error *error);

/* Row time t_us, now, is this UTC. */
enum rv_err rv_ledger_anchor(struct rv_ledger *ledger, int64_t mono_ns, const char *why,
			     struct rv_error *error);

/* Opens the record again, or a new one at its path, and brings it to what holds, from t_us on. */
enum rv_err rv_ledger_reopen(struct rv_ledger *ledger, int64_t t_us, struct rv_error *error);

/* At start: a run the record holds open goes on, or ends at its last reading where the station's
 * channels do not let it.  found: newest_us and open_run are given. */
enum rv_err rv_ledger_take_up_run(struct rv_ledger *ledger, const struct rv_store_match *match,
				  struct rv_recorder_start *found, struct rv_error *error);

void rv_ledger_close(struct rv_ledger *ledger); /* the store only */
void rv_ledger_free_texts(struct rv_ledger *ledger);

/* Texts and ticket of an entry that goes no further. */
void rv_ledger_let_go(struct rv_entry *entry, enum rv_err result);

#endif
