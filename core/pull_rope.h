/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the declared rig says of the rope between two cells, for the judgement whether every sheave is
 * certainly turning (core/mobilise): to a factor of two, which is all that judgement needs.
 */
#ifndef RV_CORE_PULL_ROPE_H
#define RV_CORE_PULL_ROPE_H

#include "core/mobilise.h"
#include "core/predict.h"

/* For the line of winch 0.  far < 0: there is one cell alone.  Stiffness not declared: compliance 0,
 * and the stretch of the rope is not seen. */
/* The line that leaves winch 0: index of the rope, -1 = none. */
int rv_pull_rope_line(const struct rv_predictor *predictor);

struct rv_mobilise_setup rv_pull_rope_of(const struct rv_predictor *predictor, int near, int far);

#endif
