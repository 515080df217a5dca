/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/store_sql.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum rv_err rv_store_sql_fail(struct rv_store *store, const char *doing, struct rv_error *error)
{
	int code = sqlite3_extended_errcode(store->db);

	if ((code & 0xff) == SQLITE_CONSTRAINT)
		return rv_err_refuse(error, "constraint", "%s: cannot %s: %s", store->path, doing,
				     sqlite3_errmsg(store->db));
	enum rv_err err = rv_err_set(error, RV_ERR_STORE, "%s: cannot %s: %s (%d)", store->path,
				     doing, sqlite3_errmsg(store->db), code);
	if (error)
		error->sys_errno = sqlite3_system_errno(store->db);
	return err;
}

/* The statement for a literal, prepared at its first use. */
static sqlite3_stmt *find_statement(struct rv_store *store, const char *sql)
{
	sqlite3_stmt *statement = NULL;

	for (int i = 0; i < store->statements; i++)
		if (store->statement[i].sql == sql)
			return store->statement[i].statement;
	if (store->statements == RV_STORE_STATEMENTS)
		return NULL;
	if (sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &statement, NULL) !=
	    SQLITE_OK)
		return NULL;
	store->statement[store->statements].sql = sql;
	store->statement[store->statements++].statement = statement;
	return statement;
}

static int bind_text(sqlite3_stmt *statement, int place, const char *text)
{
	if (!text)
		return sqlite3_bind_null(statement, place);
	return sqlite3_bind_text(statement, place, text, -1, SQLITE_TRANSIENT);
}

static bool bind(sqlite3_stmt *statement, const char *format, va_list values)
{
	int result = SQLITE_OK;

	for (int i = 0; format[i] && result == SQLITE_OK; i++) {
		if (format[i] == 'i')
			result = sqlite3_bind_int64(statement, i + 1, va_arg(values, int64_t));
		else if (format[i] == 'd')
			result = sqlite3_bind_double(statement, i + 1, va_arg(values, double));
		else
			result = bind_text(statement, i + 1, va_arg(values, const char *));
	}
	return result == SQLITE_OK;
}

static enum rv_err query(struct rv_store *store, sqlite3_stmt **statement, struct rv_error *error,
			 const char *sql, const char *format, va_list values)
{
	sqlite3_stmt *found = find_statement(store, sql);

	if (!found)
		return rv_store_sql_fail(store, "ask the record", error);
	sqlite3_reset(found);
	if (!bind(found, format, values))
		return rv_store_sql_fail(store, "fill in a statement", error);
	*statement = found;
	return RV_OK;
}

enum rv_err rv_store_sql_query(struct rv_store *store, sqlite3_stmt **statement,
			       struct rv_error *error, const char *sql, const char *format, ...)
{
	va_list values;

	va_start(values, format);
	enum rv_err err = query(store, statement, error, sql, format, values);
	va_end(values);
	return err;
}

static const char *doing(sqlite3_stmt *statement)
{
	if (sqlite3_column_count(statement) > 0)
		return "read";
	/* BEGIN and COMMIT count as read-only, and give no columns. */
	return sqlite3_stmt_readonly(statement) ? "commit" : "write";
}

enum rv_err rv_store_sql_step(struct rv_store *store, sqlite3_stmt *statement,
			      struct rv_error *error)
{
	int result = sqlite3_step(statement);

	if (result == SQLITE_ROW)
		return RV_OK;
	if (result == SQLITE_DONE) {
		sqlite3_reset(statement);
		return RV_ERR_CLOSED;
	}
	enum rv_err err = rv_store_sql_fail(store, doing(statement), error);
	sqlite3_reset(statement);
	return err;
}

enum rv_err rv_store_sql_run(struct rv_store *store, struct rv_error *error, const char *sql,
			     const char *format, ...)
{
	sqlite3_stmt *statement = NULL;
	va_list values;

	va_start(values, format);
	enum rv_err err = query(store, &statement, error, sql, format, values);
	va_end(values);
	if (err != RV_OK)
		return err;
	err = rv_store_sql_step(store, statement, error);
	if (err == RV_OK)
		sqlite3_reset(statement);
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

enum rv_err rv_store_sql_number(struct rv_store *store, int64_t otherwise, int64_t *number,
				struct rv_error *error, const char *sql, const char *format, ...)
{
	sqlite3_stmt *statement = NULL;
	va_list values;

	va_start(values, format);
	enum rv_err err = query(store, &statement, error, sql, format, values);
	va_end(values);
	if (err != RV_OK)
		return err;
	err = rv_store_sql_step(store, statement, error);
	if (err != RV_OK && err != RV_ERR_CLOSED)
		return err;
	if (err == RV_OK && sqlite3_column_type(statement, 0) != SQLITE_NULL)
		*number = sqlite3_column_int64(statement, 0);
	else
		*number = otherwise;
	sqlite3_reset(statement);
	return RV_OK;
}

enum rv_err rv_store_sql_exec(struct rv_store *store, const char *sql, struct rv_error *error)
{
	if (sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK)
		return RV_OK;
	return rv_store_sql_fail(store, "do as asked", error);
}

void rv_store_sql_forget(struct rv_store *store)
{
	for (int i = 0; i < store->statements; i++)
		sqlite3_finalize(store->statement[i].statement);
	store->statements = 0;
}

void rv_store_sql_text(sqlite3_stmt *statement, int column, char *to, size_t size)
{
	const unsigned char *text = sqlite3_column_text(statement, column);

	snprintf(to, size, "%s", text ? (const char *)text : "");
}

double rv_store_sql_real(sqlite3_stmt *statement, int column)
{
	if (sqlite3_column_type(statement, column) == SQLITE_NULL)
		return (double)NAN;
	return sqlite3_column_double(statement, column);
}

void *rv_store_sql_grow(struct rv_store_list *list, size_t item_size)
{
	if (list->count == list->room) {
		size_t room = list->room ? 2 * list->room : 16;
		void *items = realloc(list->items, room * item_size);
		if (!items)
			return NULL;
		list->items = items;
		list->room = room;
	}
	void *item = (char *)list->items + list->count++ * item_size;
	memset(item, 0, item_size);
	return item;
}
