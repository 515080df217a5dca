/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the tests of the record share: a station, messages, and the record as seen by SQLite itself,
 * without any code of the store.
 */
#ifndef RV_TESTS_RECORD_HELP_H
#define RV_TESTS_RECORD_HELP_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sqlite3.h>

#include "schema/store.h"
#include "tests/rvtest.h"

/* 2026-01-05T08:00:00Z */
#define RECORD_T0_US INT64_C(1767600000000000)
#define RECORD_SECOND_US INT64_C(1000000)

static inline struct rv_stated record_unsaid(void)
{
	return (struct rv_stated){(double)NAN, (double)NAN};
}

static inline struct rv_channel *record_add_channel(struct rv_station *station, const char *name,
						    enum rv_quantity quantity, int device,
						    double scale)
{
	struct rv_channel *channel = &station->channel[station->channels++];

	memset(channel, 0, sizeof *channel);
	snprintf(channel->name, sizeof channel->name, "%s", name);
	channel->quantity = quantity;
	channel->device = device;
	channel->source.address = station->channels - 1;
	channel->source.bit = -1;
	channel->type = RV_INT32;
	snprintf(channel->field, sizeof channel->field, "%s", name);
	snprintf(channel->unit, sizeof channel->unit, "%s",
		 quantity == RV_TENSION ? "N" : quantity == RV_PAYOUT ? "m" : "degC");
	snprintf(channel->calibration.name, sizeof channel->calibration.name, "scale");
	channel->calibration.conversion = (struct rv_conversion){.a = {0.0, scale}, .degree = 1};
	channel->calibration.gain = channel->calibration.zero = record_unsaid();
	channel->calibration.drift = record_unsaid();
	channel->calibration.delay_s = (double)NAN;
	channel->calibration.inverse_error_n = (double)NAN;
	channel->capacity = (double)NAN;
	channel->tare_n = (double)NAN;
	channel->wraps_at = (double)NAN;
	return channel;
}

static inline int record_add_device(struct rv_station *station, const char *name, enum rv_link link)
{
	struct rv_device *device = &station->device[station->devices];

	memset(device, 0, sizeof *device);
	snprintf(device->name, sizeof device->name, "%s", name);
	device->link = link;
	return station->devices++;
}

/* Two cells on one gateway (narrow), an encoder, and a box of `wide` thermometers (none if 0).
 * lead: 12.5 N a count, 8388 counts at no load.  anchor: 0.5 N a count.  payout: 0.5 mm a count. */
static inline struct rv_station *record_station(int wide)
{
	struct rv_station *station = calloc(1, sizeof *station);

	assert_non_null(station);
	snprintf(station->name, sizeof station->name, "Test yard");
	record_add_device(station, "cells", RV_LINK_MODBUS_TCP);
	record_add_device(station, "encoder", RV_LINK_SERIAL_TEXT);
	struct rv_channel *lead = record_add_channel(station, "lead", RV_TENSION, 0, 12.5);
	lead->calibration.conversion.a[0] = -8388 * 12.5;
	lead->capacity = 50000.0;
	snprintf(lead->cell, sizeof lead->cell, "lead");
	snprintf(record_add_channel(station, "anchor", RV_TENSION, 0, 0.5)->cell, RV_NAME_SIZE,
		 "anchor");
	record_add_channel(station, "payout", RV_PAYOUT, 1, 0.0005);
	if (wide)
		record_add_device(station, "box", RV_LINK_MODBUS_RTU);
	for (int i = 0; i < wide; i++) {
		char name[16];
		snprintf(name, sizeof name, "temp %d", i + 1);
		record_add_channel(station, name, RV_OTHER, 2, 0.1);
	}
	return station;
}

static inline struct rv_value record_count(int64_t count)
{
	return (struct rv_value){.raw = {.kind = RV_RAW_INT, .count = count}};
}

static inline struct rv_value record_real(double real)
{
	return (struct rv_value){.raw = {.kind = RV_RAW_REAL, .real = real}};
}

static inline struct rv_message record_cells(int64_t lead, int64_t anchor)
{
	return (struct rv_message){
	    .device = 0, .count = 2, .values = {record_count(lead), record_count(anchor)}};
}

static inline struct rv_message record_payout(int64_t count)
{
	return (struct rv_message){.device = 1, .count = 1, .values = {record_count(count)}};
}

/* A folder of its own under the system's temporary one; `path` gets FOLDER/name. */
static inline void record_path(char *path, size_t size, const char *name)
{
	char folder[] = "/tmp/rv-record-XXXXXX";

	assert_non_null(mkdtemp(folder));
	snprintf(path, size, "%s/%s", folder, name);
}

/* Removes that folder and what the record left in it. */
static inline void record_remove(const char *path)
{
	static const char *const ends[] = {"",	    "-wal",	"-shm",	    ".lock",	"-journal",
					   ".before-1", ".making", "-wal.left", ".before-2", ".before-3"};
	char name[600];

	for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
		snprintf(name, sizeof name, "%s%s", path, ends[i]);
		unlink(name);
	}
	snprintf(name, sizeof name, "%.*s", (int)(strrchr(path, '/') - path), path);
	assert_int_equal(rmdir(name), 0);
}

/* All rows of a query as text: columns by "|", rows by "\n".  Doubles with 17 digits. */
static inline const char *record_ask(const char *path, const char *sql)
{
	static char answer[8192];
	sqlite3 *db = NULL;
	sqlite3_stmt *row = NULL;
	size_t at = 0;

	answer[0] = '\0';
	assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
	sqlite3_busy_timeout(db, 2000);
	if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) != SQLITE_OK) {
		print_error("%s: %s\n", sql, sqlite3_errmsg(db));
		fail();
	}
	while (sqlite3_step(row) == SQLITE_ROW && at < sizeof answer - 512) {
		at += (size_t)snprintf(answer + at, sizeof answer - at, "%s", at ? "\n" : "");
		for (int i = 0; i < sqlite3_column_count(row); i++) {
			const char *mark = i ? "|" : "";
			if (sqlite3_column_type(row, i) == SQLITE_FLOAT)
				at += (size_t)snprintf(answer + at, sizeof answer - at, "%s%.17g",
						       mark, sqlite3_column_double(row, i));
			else
				at += (size_t)snprintf(answer + at, sizeof answer - at, "%s%.200s",
						       mark,
						       sqlite3_column_text(row, i)
							   ? (const char *)sqlite3_column_text(row, i)
							   : "null");
		}
	}
	sqlite3_finalize(row);
	sqlite3_close(db);
	return answer;
}

#endif
