/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The record: the one public face of the only code that knows SQLite.  A writing store belongs to
 * one thread; a reading store (read-only connection, short transactions) to one thread each.
 * Times are row time: microseconds since 1970-01-01 UTC on the record's own axis.
 */
#ifndef RV_SCHEMA_STORE_H
#define RV_SCHEMA_STORE_H

#include <stdint.h>

#include "core/err.h"
#include "core/sample.h"
#include "core/station.h"

#endif
