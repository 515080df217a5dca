/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The winch's timetable: where the line should be at a time.
 */
#ifndef RV_TOOLS_REHEARSE_WINCH_H
#define RV_TOOLS_REHEARSE_WINCH_H

#include "tools/rehearse_script.h"

/* Line let out since the start of the timetable, at t_s into it; negative while hauled in.  Every
 * move speeds up and slows down evenly over ramp_s; after the last one the winch stands. */
double rv_rehearse_winch_out_m(const struct rv_rehearse_winch *winch, double t_s);

/* Time the whole timetable takes. */
double rv_rehearse_winch_lasts_s(const struct rv_rehearse_winch *winch);

#endif
