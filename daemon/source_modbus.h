/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A Modbus device as a source: each slot of `every`, all its registers are read in as few questions
 * as they need, judged by core/vitals, and sent as one message.
 *
 * What is lost is told: a poll without any answer is one lost message with its reason; slots that
 * pass while the link gets back into step are lost for RV_FAULT_LATE, or for what the probe met;
 * slots that pass because this program was held up are RV_FAULT_OVERFLOW; those that pass while the
 * wire is gone are told when it is back.  A device that needs longer than `every` for an answer
 * loses nothing: it is asked as often as it can answer.
 * When only some of the questions are answered the message goes out with the rest bad (NO_
 * COMMUNICATION), and the reason is told with 0 messages lost.
 *
 * The message carries the arrival of the first answer's first byte.
 */
#ifndef RV_DAEMON_SOURCE_MODBUS_H
#define RV_DAEMON_SOURCE_MODBUS_H

#include "daemon/source.h"

/* base says station, device and where to emit; it is copied. */
enum rv_err rv_source_modbus_new(const struct rv_source *base, struct rv_source **source,
				 struct rv_error *error);

#endif
