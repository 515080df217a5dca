/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The few things reeve asks of JSON beyond what jansson gives.  An unknown number (NaN) is null;
 * doubles are written with 17 digits, so they come back the same.
 */
#ifndef RV_CORE_JSON_H
#define RV_CORE_JSON_H

#include <jansson.h>

#include "core/text.h"

/* A real, or null for NaN and infinities.  New reference. */
json_t *rv_json_real(double value);

/* The text, or null for NULL.  Text that is not UTF-8 (cut in the middle of a letter, or garbled by a
 * wire) comes out with '?' for all its letters beyond ASCII: it must not vanish. */
json_t *rv_json_text(const char *text);

/* Adds the value's text to a growing text (compact, insertion order, 17 digits). */
void rv_json_write(const json_t *value, struct rv_text *text);

#endif
