/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_read.h"

#include <stdlib.h>
#include <string.h>

#include "core/rig_gear.h"
#include "core/rig_ground.h"
#include "core/rig_hold.h"
#include "core/rig_path.h"
#include "core/rig_place.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

enum { POINTS, LOADS, WINCHES, BLOCKS, LINES, FITTINGS, CELLS, SECTIONS };

/* The top of the file. */
struct top {
	char name[2 * RV_NAME_SIZE];
	int haul;
	const struct rv_yaml_node *section[SECTIONS];
	const struct rv_yaml_node *drive;
};

/* A reading under way: too large for the stack together. */
struct draft {
	struct rv_rig rig;
	struct rv_rig_nodes nodes;
	struct top top;
};

static enum rv_err read_top(const struct rv_yaml_node *root, struct draft *draft,
			    struct rv_error *error)
{
	static const char *const ways[] = {"in", "out", NULL};
	static const struct rv_form_key keys[] = {
	    RV_KEY_TEXT("rig", struct top, name, false),
	    RV_KEY_WORD("haul", struct top, haul, ways, 0),
	    RV_KEY_NODE("points", struct top, section[POINTS], false),
	    RV_KEY_NODE("loads", struct top, section[LOADS], false),
	    RV_KEY_NODE("winches", struct top, section[WINCHES], false),
	    RV_KEY_NODE("blocks", struct top, section[BLOCKS], false),
	    RV_KEY_NODE("lines", struct top, section[LINES], false),
	    RV_KEY_NODE("fittings", struct top, section[FITTINGS], false),
	    RV_KEY_NODE("cells", struct top, section[CELLS], false),
	    RV_KEY_NODE("drive", struct top, drive, false),
	};
	enum rv_err err = rv_form_read(root, "the rig", keys, COUNT(keys), &draft->top, error);

	if (err != RV_OK)
		return err;
	if (!draft->top.section[POINTS])
		return rv_yaml_refuse(error, root, RV_ERR_MISSING, "no_points",
				      "the rig has no points; a section \"points\" is needed");
	if (!draft->top.section[LINES])
		return rv_yaml_refuse(error, root, RV_ERR_MISSING, "no_lines",
				      "the rig has no lines; a section \"lines\" is needed");
	memcpy(draft->rig.name, draft->top.name, sizeof draft->rig.name);
	draft->rig.haul_out = draft->top.haul == 1;
	draft->nodes.drive = draft->top.drive;
	for (int i = 0; i < RV_RIG_WINCHES; i++)
		draft->rig.drive[i] = RV_UNKNOWN;
	return RV_OK;
}

static enum rv_err read_sections(struct draft *draft, struct rv_error *error)
{
	static const struct {
		const char *name;
		int most;
		enum rv_err (*read)(const struct rv_yaml_node *entry, struct rv_rig *rig,
				    struct rv_rig_nodes *nodes, struct rv_error *error);
	} sections[SECTIONS] = {
	    [POINTS] = {"points", RV_RIG_POINTS, rv_rig_ground_point},
	    [LOADS] = {"loads", RV_RIG_LOADS, rv_rig_ground_load},
	    [WINCHES] = {"winches", RV_RIG_WINCHES, rv_rig_ground_winch},
	    [BLOCKS] = {"blocks", RV_RIG_BLOCKS, rv_rig_gear_block},
	    [LINES] = {"lines", RV_RIG_LINES, rv_rig_gear_rope},
	    [FITTINGS] = {"fittings", RV_RIG_FITTINGS, rv_rig_gear_fitting},
	    [CELLS] = {"cells", RV_RIG_CELLS, rv_rig_gear_cell},
	};

	for (int i = 0; i < SECTIONS; i++) {
		const struct rv_yaml_node *section = draft->top.section[i];
		if (!section)
			continue;
		enum rv_err err =
		    rv_form_entries(section, sections[i].name, sections[i].most, error);
		const struct rv_yaml_node *entry = section->first;
		for (; err == RV_OK && entry; entry = entry->next)
			err = sections[i].read(entry, &draft->rig, &draft->nodes, error);
		if (err != RV_OK)
			return err;
	}
	if (draft->rig.points == 0)
		return rv_yaml_refuse(error, draft->top.section[POINTS], RV_ERR_MISSING,
				      "no_points", "the rig has no points");
	if (draft->rig.ropes == 0)
		return rv_yaml_refuse(error, draft->top.section[LINES], RV_ERR_MISSING, "no_lines",
				      "the rig has no lines");
	return RV_OK;
}

/* The section (of those before this one) that has the name already, or NULL. */
static const struct rv_yaml_node *find_twin(const struct draft *draft, int section,
					    const char *name)
{
	static const int shared[] = {POINTS, WINCHES, BLOCKS, FITTINGS};

	for (size_t i = 0; i < COUNT(shared) && shared[i] != section; i++) {
		const struct rv_yaml_node *map = draft->top.section[shared[i]];
		const struct rv_yaml_node *twin = map ? rv_yaml_get(map, name) : NULL;
		if (twin)
			return twin;
	}
	return NULL;
}

static enum rv_err check_names(const struct draft *draft, int section, struct rv_error *error)
{
	const struct rv_yaml_node *map = draft->top.section[section];

	for (const struct rv_yaml_node *entry = map ? map->first : NULL; entry;
	     entry = entry->next) {
		if (strcmp(entry->key, "any") == 0 ||
		    (section != LINES && strcmp(entry->key, "tail") == 0))
			return rv_yaml_refuse_key(
			    error, entry, RV_ERR_REFUSED, "name_reserved",
			    "\"%s\" cannot be a name here; it is a word with a "
			    "meaning of its own",
			    entry->key);
		const struct rv_yaml_node *twin =
		    section == LINES ? NULL : find_twin(draft, section, entry->key);
		if (twin)
			return rv_yaml_refuse_key(
			    error, entry, RV_ERR_REFUSED, "name_twice",
			    "\"%s\" is named in line %d already; names are unique "
			    "over points, winches, blocks and fittings",
			    entry->key, twin->key_line);
	}
	return RV_OK;
}

static enum rv_err read_rig(const struct rv_yaml_node *root, struct draft *draft,
			    struct rv_error *error)
{
	static const int named[] = {POINTS, WINCHES, BLOCKS, FITTINGS, LINES};
	enum rv_err err = read_top(root, draft, error);

	if (err == RV_OK)
		err = read_sections(draft, error);
	for (size_t i = 0; err == RV_OK && i < COUNT(named); i++)
		err = check_names(draft, named[i], error);
	if (err == RV_OK)
		err = rv_rig_place_all(&draft->rig, &draft->nodes, error);
	if (err == RV_OK)
		err = rv_rig_path_all(&draft->rig, &draft->nodes, error);
	if (err == RV_OK)
		err = rv_rig_hold_all(&draft->rig, &draft->nodes, error);
	return err;
}

static enum rv_err read_text(const char *text, size_t len, bool spare, struct rv_rig *rig,
			     struct rv_error *error)
{
	struct rv_yaml *yaml;
	enum rv_err err = rv_yaml_new(text, len, &yaml, error);

	if (err != RV_OK)
		return err;
	struct draft *draft = calloc(1, sizeof *draft);
	if (draft)
		draft->nodes.spare = spare;
	err = draft ? read_rig(rv_yaml_root(yaml), draft, error)
		    : rv_err_set(error, RV_ERR_NOMEM, "no memory left while reading");
	if (err == RV_OK)
		*rig = draft->rig;
	free(draft);
	rv_yaml_free(yaml);
	return err;
}

enum rv_err rv_rig_read(const char *text, size_t len, struct rv_rig *rig, struct rv_error *error)
{
	return read_text(text, len, false, rig, error);
}

enum rv_err rv_rig_read_gear(const char *text, size_t len, struct rv_rig *rig,
			     struct rv_error *error)
{
	return read_text(text, len, true, rig, error);
}
