/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A Modbus client on one wire which never takes a late answer for the answer to a later question.
 *
 * Why that needs care.  An RTU answer carries no number: it names unit, function and length only.
 * libmodbus 3.1.6 takes an answer that comes after its time-out for the answer to the next
 * question, and stays one behind for ever.  Modbus TCP has transaction numbers, but a gateway to a
 * serial line may put the right number on the wrong answer.
 *
 * What is done.  The link is "in step" while every question so far has got its own answer.  A
 * question is asked for its value only in step, and only when nothing unread waits.  After any
 * failure (time-out, bad checksum, wrong unit, wrong length, unasked bytes), and after opening, the
 * link is out of step and delivers nothing until it has
 *   1. kept quiet: for the time-out or the longest answer time ever seen, whichever is longer (at
 *      most 2 s), plus 3.5 characters (Modbus over Serial Line V1.02, section 2.5.1.1; from
 *      memory) plus 16 ms, the time USB adapters sit on bytes; or, once the late answer has come,
 *      until the line is silent.  TCP: the connection is closed, a late answer dies with it;
 *   2. thrown away all that came, and found nothing waiting;
 *   3. asked a probing question whose answer differs in function or length from that of every
 *      ordinary one, and got that answer.  A unit answers in the order it is asked, so nothing
 *      older can come afterwards.  Probes only read; they alternate, to be told from one another.
 * If the unit answers no probe with its own answer, an ordinary question is asked, its answer thrown
 * away, and step 1 must pass without a byte before the link counts as in step.
 *
 * What remains.  A unit (or a gateway) that answers twice, or out of order, or later than several
 * such quiet times together with answers that happen to match alternating probes, can still
 * deceive; so can, for units that answer no probe, an answer later than the quiet time twice over.
 * A 16-bit CRC lets one in 65536 random frames pass.
 */
#ifndef RV_DAEMON_MODBUS_LINK_H
#define RV_DAEMON_MODBUS_LINK_H

#include <stdint.h>

#include "core/regs.h"
#include "core/station.h"
#include "daemon/intake.h"
#include "daemon/modbus_wire.h"

struct rv_modbus_link;

/* device is borrowed.  RV_ERR_NOMEM or RV_ERR_RANGE: a setting libmodbus refuses. */
enum rv_err rv_modbus_link_new(const struct rv_device *device, struct rv_modbus_link **link,
			       struct rv_error *error);
void rv_modbus_link_free(struct rv_modbus_link *link);

/* The ordinary questions that will be asked: probes are chosen to differ from them. */
void rv_modbus_link_expect(struct rv_modbus_link *link, const struct rv_regs_plan *plan);

/* Opens the port or connects; out of step.  fault and error's text say why not. */
enum rv_err rv_modbus_link_open(struct rv_modbus_link *link, enum rv_fault *fault,
				struct rv_error *error);
void rv_modbus_link_close(struct rv_modbus_link *link);

bool rv_modbus_link_is_in_step(const struct rv_modbus_link *link);

/* Goes on getting into step, for at most slice_ns or one probe's time-out.
 * RV_OK: in step now.  RV_ERR_AGAIN: not yet; trouble has fault NONE while merely keeping quiet,
 * else says what the probe met.  RV_ERR_CLOSED: the wire is gone. */
enum rv_err rv_modbus_link_recover(struct rv_modbus_link *link, int64_t slice_ns,
				   struct rv_modbus_trouble *trouble);

/* Asks, in step only.  RV_OK; RV_ERR_AGAIN: no answer, see trouble (and perhaps no longer in
 * step); RV_ERR_CLOSED: the wire is gone.  At most the device's time-out. */
enum rv_err rv_modbus_link_ask(struct rv_modbus_link *link, const struct rv_regs_request *request,
			       struct rv_modbus_answer *answer, struct rv_modbus_trouble *trouble);

/* Writes a coil and reads it back, in step only.  RV_ERR_REFUSED: it reads otherwise. */
enum rv_err rv_modbus_link_write_coil(struct rv_modbus_link *link, int coil, bool energised,
				      struct rv_modbus_trouble *trouble);

#endif
