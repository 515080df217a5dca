/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was said of a run afterwards: pulls that a person struck, and estimates.
 */
#include <stdlib.h>
#include <string.h>

#include "schema/store_sql.h"

static const int64_t same_pull_us = 1000000;

enum { OPERATIONS = 20000 }; /* of SQLite's machine between two questions: some ms at most */

void rv_store_stop_when(struct rv_store *store, int (*stop)(void *arg), void *arg)
{
	sqlite3_progress_handler(store->db, OPERATIONS, stop, arg);
}

/* ---- strikes ---- */

enum rv_err rv_store_add_strike(struct rv_store *store, const struct rv_store_strike *strike,
				struct rv_error *error)
{
	return rv_store_sql_run(store, error,
				"INSERT INTO strike(run, pull, start_us, reason, by_whom, t_us) "
				"VALUES(?, ?, ?, nullif(?, ''), nullif(?, ''), ?)",
				"iiitti", strike->run, strike->pull, strike->start_us,
				strike->reason, strike->by_whom, strike->t_us);
}

enum rv_err rv_store_strikes(struct rv_store *store, int64_t number,
			     struct rv_store_strike **strikes, size_t *count,
			     struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	enum rv_err err = rv_store_sql_query(store, &row, error,
					     "SELECT pull, start_us, t_us, reason, by_whom "
					     "FROM strike WHERE run = ? ORDER BY id",
					     "i", number);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_strike *strike = rv_store_sql_grow(&list, sizeof *strike);
		if (!strike) {
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory to read the record");
			break;
		}
		strike->run = number;
		strike->pull = sqlite3_column_int64(row, 0);
		strike->start_us = sqlite3_column_int64(row, 1);
		strike->t_us = sqlite3_column_int64(row, 2);
		rv_store_sql_text(row, 3, strike->reason, sizeof strike->reason);
		rv_store_sql_text(row, 4, strike->by_whom, sizeof strike->by_whom);
	}
	if (err != RV_ERR_CLOSED) {
		free(list.items);
		return err;
	}
	*strikes = list.items;
	*count = list.count;
	return RV_OK;
}

const struct rv_store_strike *rv_store_strike_of(const struct rv_store_strike *strikes,
						 size_t count, int64_t start_us)
{
	for (size_t i = count; i > 0; i--) {
		const struct rv_store_strike *strike = &strikes[i - 1];

		if (llabs(strike->start_us - start_us) <= same_pull_us)
			return strike->reason[0] ? strike : NULL;
	}
	return NULL;
}

/* ---- estimates ---- */

enum rv_err rv_store_add_estimate(struct rv_store *store, const struct rv_store_estimate *estimate,
				  struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO estimate(made_us, runs, asked, made_by, result) VALUES(?, ?, ?, ?, ?)",
	    "itttt", estimate->made_us, estimate->runs, estimate->asked, "reeve " RV_VERSION,
	    estimate->result);
}

static char *column_copy(sqlite3_stmt *row, int column)
{
	const char *text = (const char *)sqlite3_column_text(row, column);

	return text ? strdup(text) : NULL;
}

void rv_store_estimates_free(struct rv_store_estimate *estimates, size_t count)
{
	for (size_t i = 0; estimates && i < count; i++) {
		free(estimates[i].runs);
		free(estimates[i].asked);
		free(estimates[i].made_by);
		free(estimates[i].result);
	}
	free(estimates);
}

enum rv_err rv_store_estimates(struct rv_store *store, const char *runs,
			       struct rv_store_estimate **estimates, size_t *count,
			       struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	enum rv_err err = rv_store_sql_query(store, &row, error,
					     "SELECT made_us, runs, asked, made_by, result "
					     "FROM estimate WHERE runs = ? ORDER BY id",
					     "t", runs);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_estimate *one = rv_store_sql_grow(&list, sizeof *one);
		if (one) {
			one->made_us = sqlite3_column_int64(row, 0);
			one->runs = column_copy(row, 1);
			one->asked = column_copy(row, 2);
			one->made_by = column_copy(row, 3);
			one->result = column_copy(row, 4);
		}
		if (!one || !one->runs || !one->asked || !one->made_by || !one->result) {
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory to read the record");
			break;
		}
	}
	if (err != RV_ERR_CLOSED) {
		rv_store_estimates_free(list.items, list.count);
		return err;
	}
	*estimates = list.items;
	*count = list.count;
	return RV_OK;
}
