/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An instrument that sends lines of text, by itself or when asked, as a source.
 *
 * A line ends at CR or LF; empty lines are nothing.  The device's pattern (PCRE2, named groups)
 * must match a line; each channel takes its number from the group `field`, and the words that go
 * with it from the groups of `alive` and `good_when`.  A group `FIELD_unit`, or else one called
 * `unit`, names the unit and is checked at every line.  A channel without a unit of its own on the
 * wire takes whole numbers as counts.  A group that took no part in the match: no reading of that
 * channel in this line.
 *
 * Never made into a reading: what came before the first line end after opening (the rest of a line,
 * not a message, not counted); a line with a pause in it longer than the time-out (half of it may
 * belong to another); a line longer than RV_SERIAL_LINE; lines that waited unread while this program
 * was held up, for no one knows when they came.
 *
 * Asked devices.  An answer carries no number, so one that comes late could be taken for the next.
 * After a time-out, and after opening, nothing is delivered until the line was quiet for the time-out
 * or the longest answer time seen, and one further question has brought one line, thrown away, and
 * then nothing more for as long.  An answer later than that twice over can still deceive.
 *
 * A line's time is that of its first byte: when the bytes were read less their length on the wire,
 * never before the previous reading of the port.
 */
#ifndef RV_DAEMON_SOURCE_SERIAL_H
#define RV_DAEMON_SOURCE_SERIAL_H

#include "daemon/source.h"

enum { RV_SERIAL_LINE = 512 };

/* base says station, device and where to emit; it is copied.
 * RV_ERR_SYNTAX: the pattern; RV_ERR_UNKNOWN: a group it lacks. */
enum rv_err rv_source_serial_new(const struct rv_source *base, struct rv_source **source,
				 struct rv_error *error);

#endif
