/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the readers of a rig file's sections share.
 *
 * The file is read in two passes.  The first fills each entry from its own keys and keeps what
 * names something else (a path, "at", "holds") as a node; the second resolves these, when every
 * name is known.
 */
#ifndef RV_CORE_RIG_PART_H
#define RV_CORE_RIG_PART_H

#include <math.h>

#include "core/form.h"
#include "core/rig.h"
#include "core/yaml.h"

#define RV_UNKNOWN ((double)NAN)
#define RV_UNKNOWN_RANGE ((struct rv_range){RV_UNKNOWN, RV_UNKNOWN, RV_UNKNOWN})
#define RV_UNRATED ((struct rv_rating){RV_UNKNOWN, RV_UNKNOWN, RV_UNKNOWN, false})

/* For each entry of the rig, by its index: the entry itself and its links.  NULL = not given. */
struct rv_rig_nodes {
	const struct rv_yaml_node *point[RV_RIG_POINTS], *point_at[RV_RIG_POINTS],
	    *point_force[RV_RIG_POINTS], *point_moves[RV_RIG_POINTS];
	const struct rv_yaml_node *load[RV_RIG_LOADS], *load_travels[RV_RIG_LOADS];
	const struct rv_yaml_node *winch[RV_RIG_WINCHES], *winch_at[RV_RIG_WINCHES];
	const struct rv_yaml_node *block[RV_RIG_BLOCKS], *block_at[RV_RIG_BLOCKS];
	const struct rv_yaml_node *rope[RV_RIG_LINES], *rope_path[RV_RIG_LINES];
	const struct rv_yaml_node *fitting[RV_RIG_FITTINGS], *fitting_holds[RV_RIG_FITTINGS];
	const struct rv_yaml_node *cell[RV_RIG_CELLS], *cell_in[RV_RIG_CELLS],
	    *cell_holds[RV_RIG_CELLS];
	const struct rv_yaml_node *drive;
	bool spare; /* blocks may lie about that no line uses */
};

/* One entry under way: what it becomes, and the links that its section keeps. */
struct rv_rig_part {
	union {
		struct rv_point point;
		struct rv_load load;
		struct rv_winch winch;
		struct rv_block block;
		struct rv_rope rope;
		struct rv_fitting fitting;
		struct rv_cell cell;
	};
	bool flag;
	struct rv_range groove;
	const struct rv_yaml_node *link[4];
	char what[RV_NAME_SIZE + 16]; /* "block "corner block"", for messages */
};

/* The table entries of a rating. */
#define RV_RIG_RATING(part)                                                              \
	RV_KEY_STAMPED("wll", struct rv_rig_part, part.rating.wll_n, part.rating.as_mass), \
	RV_KEY_STAMPED("mbs", struct rv_rig_part, part.rating.mbs_n, part.rating.as_mass), \
	{.key = "design_factor", .kind = RV_FORM_AMOUNT,                                   \
	 .offset = offsetof(struct rv_rig_part, part.rating.design_factor),                \
	 .limit = RV_FORM_WITHIN, .low = 1.0, .high = 100.0}

/* Reads an entry by its table; section in the singular ("block").  Fills part->what as well. */
enum rv_err rv_rig_part_read(const struct rv_yaml_node *entry, const char *section,
			     const struct rv_form_key *keys, size_t count,
			     struct rv_rig_part *part, struct rv_error *error);

/* Kinds of names, as bits. */
enum {
	RV_NAMES_POINTS = 1,
	RV_NAMES_WINCHES = 2,
	RV_NAMES_BLOCKS = 4,
	RV_NAMES_FITTINGS = 8,
	RV_NAMES_LOADS = 16,
	RV_NAMES_LINES = 32,
};

/* Refuses a word that names nothing of these kinds, and offers the nearest name. */
enum rv_err rv_rig_part_unknown(const struct rv_yaml_node *node, const char *what, unsigned kinds,
				const struct rv_rig *rig, struct rv_error *error);

/* A rating that contradicts itself is refused. */
enum rv_err rv_rig_part_check(const struct rv_yaml_node *entry, const struct rv_rating *rating,
			      struct rv_error *error);

#endif
