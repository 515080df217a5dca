/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig file's text -> struct rv_rig.
 *
 * Sections: points loads winches blocks lines fittings cells; and rig (name), haul: in|out,
 * drive.  Names are unique over points, winches, blocks and fittings together, and over lines,
 * loads and cells each by itself.  Whether forces are given and the rig can be solved is not asked
 * here.
 */
#ifndef RV_CORE_RIG_READ_H
#define RV_CORE_RIG_READ_H

#include <stddef.h>

#include "core/rig.h"

/* Reads len bytes.  On failure *rig is untouched and the error has line, column, a sentence and a
 * tag: syntax, key_unknown, key_twice, key_missing, value_kind, value_range, unit_missing,
 * unit_unknown, unit_ton, force_in_mass, name_unknown, name_twice, no_points, no_lines, dim_mixed,
 * eta_range, sheaves_spent and so on. */
enum rv_err rv_rig_read(const char *text, size_t len, struct rv_rig *rig, struct rv_error *error);

/* The same for a file that lists what is at hand: blocks may lie about that no line uses. */
enum rv_err rv_rig_read_gear(const char *text, size_t len, struct rv_rig *rig,
			     struct rv_error *error);

#endif
