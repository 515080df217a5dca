/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Blocks that hang on a strop: each becomes a floating point that holds the block (its pin), and a
 * line without winch from there to the point it hangs from (its pendant).  These are the last
 * points and lines of the rig and are marked is_pin and is_pendant.
 */
#ifndef RV_CORE_HANG_H
#define RV_CORE_HANG_H

#include "core/rig.h"

/* Changes rig in place.  RV_ERR_RANGE, tag too_many: no room for the added points or lines. */
enum rv_err rv_hang_expand(struct rv_rig *rig, struct rv_error *error);

/* Lines as declared, without the pendants. */
int rv_hang_declared_ropes(const struct rv_rig *rig);

#endif
