/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station looked at and not started: what it declares, whether its rig can be solved and, if asked,
 * whether its wires answer.
 */
#ifndef RV_DAEMON_CHECK_H
#define RV_DAEMON_CHECK_H

#include <stdbool.h>

#include "daemon/config.h"

struct rv_check {
	bool probe; /* also read every channel once from its wire */
	bool json;  /* {"refused":null or {"code","text","line","column","file"}, "found":[lines],
		       "probe":null or [lines]} in place of the lines */
};

/* Prints what is found; the reason on standard error where something is wrong.  True if nothing is:
 * a rig that cannot be solved is wrong, though a daemon would log its cells all the same. */
bool rv_check_run(const struct rv_check *asked, const struct rv_config *config);

/* Says that the station or what it names cannot be read: to standard error, and as JSON if asked. */
void rv_check_refuse(const struct rv_check *asked, const char *file, const struct rv_error *error);

#endif
