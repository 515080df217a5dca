/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_part.h"

#include <stdio.h>
#include <string.h>

enum rv_err rv_rig_part_read(const struct rv_yaml_node *entry, const char *section,
			     const struct rv_form_key *keys, size_t count, struct rv_rig_part *part,
			     struct rv_error *error)
{
	snprintf(part->what, sizeof part->what, "%s \"%.63s\"", section, entry->key);
	return rv_form_read(entry, part->what, keys, count, part, error);
}

enum rv_err rv_rig_part_check(const struct rv_yaml_node *entry, const struct rv_rating *rating,
			      struct rv_error *error)
{
	const struct rv_yaml_node *factor = rv_yaml_get(entry, "design_factor");

	if (factor && isnan(rating->mbs_n))
		return rv_yaml_refuse_key(error, factor, RV_ERR_MISSING, "key_missing",
					  "design_factor divides an mbs, and there is none");
	if (rating->wll_n > rating->mbs_n) /* false when either is unknown */
		return rv_yaml_refuse(
		    error, rv_yaml_get(entry, "wll"), RV_ERR_RANGE, "value_range",
		    "wll is above mbs; a working load limit is below the strength");
	return RV_OK;
}

/* The names of one kind, appended to names; the singular of the kind to text. */
static size_t add_names(const struct rv_rig *rig, unsigned kind, const char **names, size_t count)
{
	switch (kind) {
	case RV_NAMES_POINTS:
		for (int i = 0; i < rig->points; i++)
			names[count++] = rig->point[i].name;
		break;
	case RV_NAMES_WINCHES:
		for (int i = 0; i < rig->winches; i++)
			names[count++] = rig->winch[i].name;
		break;
	case RV_NAMES_BLOCKS:
		for (int i = 0; i < rig->blocks; i++)
			names[count++] = rig->block[i].name;
		break;
	case RV_NAMES_FITTINGS:
		for (int i = 0; i < rig->fittings; i++)
			names[count++] = rig->fitting[i].name;
		break;
	case RV_NAMES_LOADS:
		for (int i = 0; i < rig->loads; i++)
			names[count++] = rig->load[i].name;
		break;
	default:
		for (int i = 0; i < rig->ropes; i++)
			names[count++] = rig->rope[i].name;
		break;
	}
	return count;
}

enum rv_err rv_rig_part_unknown(const struct rv_yaml_node *node, const char *what, unsigned kinds,
				const struct rv_rig *rig, struct rv_error *error)
{
	static const char *const kind_names[] = {"point",   "winch", "block",
						 "fitting", "load",  "line"};
	const char *names[RV_RIG_POINTS + RV_RIG_WINCHES + RV_RIG_BLOCKS + RV_RIG_FITTINGS +
			  RV_RIG_LOADS + RV_RIG_LINES];
	char hint[RV_NAME_SIZE + 32], allowed[80] = "";
	size_t count = 0;

	for (unsigned i = 0; i < 6; i++) {
		if (!(kinds & (1u << i)))
			continue;
		count = add_names(rig, 1u << i, names, count);
		size_t len = strlen(allowed);
		bool is_last = kinds >> (i + 1) == 0;
		snprintf(allowed + len, sizeof allowed - len, "%s%s",
			 len == 0  ? ""
			 : is_last ? " or "
				   : ", ",
			 kind_names[i]);
	}
	rv_form_hint(node->text, names, count, hint, sizeof hint);
	return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "name_unknown",
			      "%s names \"%.63s\", which is no %s of this rig%s", what, node->text,
			      allowed, hint);
}
