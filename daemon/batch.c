/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/batch.h"

#include <stdlib.h>

#include "daemon/clock.h"

/* Messages after everything else, in order of their time; else in order of coming. */
static int compare(const void *a, const void *b, void *to)
{
	struct rv_backlog *backlog = to;
	uint32_t i = *(const uint32_t *)a, j = *(const uint32_t *)b;
	const struct rv_entry *x = rv_backlog_at(backlog, i), *y = rv_backlog_at(backlog, j);
	bool x_is = x->kind == RV_ENTRY_MESSAGE, y_is = y->kind == RV_ENTRY_MESSAGE;

	if (x_is != y_is)
		return x_is ? 1 : -1;
	if (x_is && x->t_us != y->t_us)
		return x->t_us < y->t_us ? -1 : 1;
	return i < j ? -1 : 1;
}

static enum rv_err add_entries(struct rv_batch *batch, struct rv_ledger *ledger,
			       struct rv_backlog *backlog, struct rv_error *error)
{
	for (size_t k = 0; k < batch->count; k++) {
		uint32_t i = batch->order[k];
		struct rv_entry *entry = rv_backlog_at(backlog, i);
		struct rv_error why = {0};
		enum rv_err err = rv_ledger_add(ledger, entry, &batch->readings, &why);
		batch->result[i] = err;
		if (err == RV_ERR_REFUSED)
			err = rv_ledger_event(ledger, entry->t_us, "refused", why.text, &why);
		if (err != RV_OK) {
			if (error)
				*error = why;
			return err;
		}
	}
	return RV_OK;
}

static enum rv_err add_lost(struct rv_ledger *ledger, uint64_t lost, struct rv_error *error)
{
	int64_t now_us = rv_clock_row_us(rv_clock_mono_ns());

	if (!lost)
		return RV_OK;
	return rv_store_add_event(ledger->store,
				  &(struct rv_store_event){.t_us = now_us,
							   .until_us = now_us,
							   .device = -1,
							   .what = "lost",
							   .cause = "the recorder had no room",
							   .text = "",
							   .count = (int64_t)lost},
				  error);
}

static enum rv_err commit(struct rv_store *store, struct rv_error *error)
{
	enum rv_err err = rv_store_commit(store, error);

	/* A commit into a file that somebody deleted succeeds, and is gone at close. */
	if (err == RV_OK && rv_store_has_moved(store))
		err =
		    rv_err_set(error, RV_ERR_STORE,
			       "the record was deleted, renamed or replaced: beginning a new one");
	return err;
}

enum rv_err rv_batch_write(struct rv_batch *batch, struct rv_ledger *ledger,
			   struct rv_backlog *backlog, struct rv_error *error)
{
	struct rv_store *store = ledger->store;
	enum rv_err err = rv_store_begin(store, error);

	if (err != RV_OK)
		return err;
	batch->readings = 0;
	for (uint32_t i = 0; i < batch->count; i++)
		batch->order[i] = i;
	qsort_r(batch->order, batch->count, sizeof batch->order[0], compare, backlog);
	err = add_entries(batch, ledger, backlog, error);
	if (err == RV_OK)
		err = add_lost(ledger, batch->lost, error);
	if (err == RV_OK && batch->keep_count)
		err = rv_store_keep_count(store, error);
	if (err == RV_OK)
		err = commit(store, error);
	if (err != RV_OK)
		rv_store_rollback(store);
	return err;
}

void rv_batch_finish(struct rv_batch *batch, struct rv_ledger *ledger, struct rv_backlog *backlog)
{
	for (size_t i = 0; i < batch->count; i++) {
		struct rv_entry *entry = rv_backlog_at(backlog, i);
		if (batch->result[i] == RV_OK)
			rv_ledger_note(ledger, entry);
		rv_ledger_let_go(entry, batch->result[i]);
	}
	rv_backlog_drop(backlog, batch->count);
}
