/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Questions whose answers cannot be taken for those of the ordinary ones.  Pure.
 *
 * An RTU answer tells function and length, so a question of another function, or of the same
 * function for another number of registers, has an answer of its own.  Preferred are parts of what
 * is read anyway (a unit refuses those least), in even numbers, since some units do not split
 * numbers of two registers; then other functions, whose refusal is as good as an answer.
 */
#ifndef RV_DAEMON_MODBUS_PROBE_H
#define RV_DAEMON_MODBUS_PROBE_H

#include "core/regs.h"

enum { RV_MODBUS_PROBES = 9 };

struct rv_modbus_probe {
	struct rv_regs_request request;
	bool is_plain;	      /* an ordinary question: the last resort, proves nothing by itself */
	bool is_own_function; /* no ordinary question uses it: its refusal is its own too */
	bool is_refused;      /* the unit will not answer this one: not asked again */
};

struct rv_modbus_probes {
	int count, at;
	struct rv_modbus_probe probe[RV_MODBUS_PROBES];
};

/* Chooses probes for a plan; the last is its first question itself. */
void rv_modbus_probe_choose(struct rv_modbus_probes *probes, const struct rv_regs_plan *plan);

/* The next one to ask, in turn; NULL when the plan asks nothing. */
struct rv_modbus_probe *rv_modbus_probe_next(struct rv_modbus_probes *probes);

#endif
