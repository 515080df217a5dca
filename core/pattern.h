/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is the pattern of a serial text device a good one?  PCRE2 syntax; its named groups carry the
 * values.
 */
#ifndef RV_CORE_PATTERN_H
#define RV_CORE_PATTERN_H

#include "core/err.h"

/* Compiles the pattern to see whether it can be.  RV_ERR_SYNTAX with the character (from 1) and the
 * reason in the text, or RV_ERR_MISSING when it has no named group.  No place. */
enum rv_err rv_pattern_check(const char *pattern, struct rv_error *error);

/* True if a good pattern has a group of that name. */
bool rv_pattern_has_group(const char *pattern, const char *name);

#endif
