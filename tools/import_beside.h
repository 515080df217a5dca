/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes with a table that is imported: the station that says what its columns are, the rig that
 * lay there, the columns that are called otherwise.
 */
#ifndef RV_TOOLS_IMPORT_BESIDE_H
#define RV_TOOLS_IMPORT_BESIDE_H

#include "core/import_columns.h"
#include "core/rig.h"
#include "tools/import_whole.h"
#include "tools/opts.h"

struct rv_import_beside {
	struct rv_import_whole whole; /* what an export says of the table, where no station is given */
	struct rv_station station; /* as its file says */
	struct rv_station used;	   /* the channels that have a column */
	int used_of[RV_CHANNELS];  /* channel of the station for each used one */
	char *station_text;	   /* owned */
	char *rig_text;		   /* owned; NULL = no rig */
	struct rv_rig rig;
	struct rv_import_map map[RV_IMPORT_MAPS];
};

/* station NULL: that of whole, whose run must be there.  rig NULL: the one that the station names, if
 * any, or whole's.  *culprit: the file, or option, that an error is
 * about.  Free also after a failure; *beside begins as zeros. */
enum rv_err rv_import_beside_read(struct rv_import_beside *beside, const char *station,
				  const char *rig, const struct rv_opt_list *maps,
				  const char **culprit, struct rv_error *error);

/* The columns are known: which channels are used, and by what number each is turned into SI. */
void rv_import_beside_use(struct rv_import_beside *beside, const struct rv_import_columns *columns,
			  double factor[RV_CHANNELS]);

void rv_import_beside_free(struct rv_import_beside *beside);

#endif
