/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the reader of a station file needs and cannot know by itself.
 */
#ifndef RV_CORE_STATION_OUTSIDE_H
#define RV_CORE_STATION_OUTSIDE_H

#include "core/err.h"
#include "core/text.h"

/* What the reader needs from outside.  {0} where there is nothing. */
struct rv_station_outside {
	/* Adds the text of a calibration file, named as in the station, to *text.  On failure only
	 * the sentence in *error is used.  NULL: a station that names one is refused. */
	enum rv_err (*load)(void *context, const char *file, struct rv_text *text,
			    struct rv_error *error);
	void *context;
	bool has_key;	 /* a control key was made: listening beyond loopback is allowed */
	bool for_import; /* channels may lack device, register, type and a conversion; no record is
			    needed: device -1, calibration "imported" (the number as it is) */
};

#endif
