/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A device's pattern laid over one line: the line -> the values of its channels.  Used by
 * daemon/source_serial.
 */
#ifndef RV_DAEMON_LINE_MATCH_H
#define RV_DAEMON_LINE_MATCH_H

#include <stddef.h>
#include <stdint.h>

#include "core/sample.h"
#include "core/station.h"

struct rv_line_match;

/* station is borrowed.  RV_ERR_SYNTAX: the pattern, with the place in it; RV_ERR_UNKNOWN: a channel
 * names a group it lacks. */
enum rv_err rv_line_match_new(const struct rv_station *station, int device,
			      struct rv_line_match **match, struct rv_error *error);
void rv_line_match_free(struct rv_line_match *match);

/* Matches the line and judges each channel of the device: values by their place, count of them.
 * RV_ERR_SYNTAX: the pattern does not match.  values: RV_CHANNELS of room. */
enum rv_err rv_line_match_read(struct rv_line_match *match, const char *line, size_t len,
			       int64_t mono_ns, struct rv_value *values, int *count);

#endif
