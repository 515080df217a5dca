/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/given.h"

#include <math.h>

const char *rv_given_name(const struct rv_rig *rig, const struct rv_given *given)
{
	switch (given->kind) {
	case RV_GIVEN_LINE_PULL:
		return rig->winch[given->index].name;
	case RV_GIVEN_RESISTS:
		return rig->load[given->index].name;
	case RV_GIVEN_CELL:
		break;
	}
	return rig->cell[given->index].name;
}

static int find(const struct rv_givens *givens, const struct rv_given *given)
{
	for (int i = 0; i < givens->count; i++)
		if (givens->given[i].kind == given->kind && givens->given[i].index == given->index)
			return i;
	return -1;
}

enum rv_err rv_given_add(const struct rv_rig *rig, struct rv_givens *givens, struct rv_given given,
			 struct rv_error *error)
{
	const char *name = rv_given_name(rig, &given);

	if (given.kind == RV_GIVEN_RESISTS && given.force_n.middle <= 0.0)
		return rv_err_refuse(error, "load_not_pulled",
				     "load %s holds nothing against its travel: it runs by "
				     "itself and no line need pull it",
				     name);
	if (!(given.force_n.middle > 0.0) || !isfinite(given.force_n.middle))
		return rv_err_set(error, RV_ERR_RANGE, "the force at %s must be above zero", name);
	if (find(givens, &given) >= 0)
		return rv_err_refuse(error, "forces_extra", "the force at %s is given twice", name);
	if (givens->count == RV_GIVENS)
		return rv_err_set(error, RV_ERR_RANGE, "more than %d forces are given", RV_GIVENS);
	givens->given[givens->count++] = given;
	return RV_OK;
}

static enum rv_err add_declared(const struct rv_rig *rig, const struct rv_givens *asked,
				struct rv_givens *chosen, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int w = 0; w < rig->winches && err == RV_OK; w++) {
		double pull_n = rig->winch[w].line_pull_n;
		struct rv_given given = {RV_GIVEN_LINE_PULL, w, {pull_n, pull_n, pull_n}};

		if (!isnan(pull_n) && find(asked, &given) < 0)
			err = rv_given_add(rig, chosen, given, error);
	}
	for (int b = 0; b < rig->loads && err == RV_OK; b++) {
		struct rv_given given = {RV_GIVEN_RESISTS, b, rig->load[b].resists_n};

		if (!isnan(given.force_n.middle) && find(asked, &given) < 0)
			err = rv_given_add(rig, chosen, given, error);
	}
	return err;
}

enum rv_err rv_given_choose(const struct rv_rig *rig, const struct rv_givens *asked,
			    struct rv_givens *chosen, struct rv_error *error)
{
	struct rv_givens made = *asked;
	enum rv_err err = RV_OK;
	int needed = rig->loads > 0 ? rig->winches : 0;

	if (asked->count < needed || needed == 0)
		err = add_declared(rig, asked, &made, error);
	if (err != RV_OK)
		return err;
	if (made.count < needed)
		return rv_err_refuse(
		    error, "forces_missing",
		    "%d of the %d forces needed are given: give the line_pull of a winch (%s), "
		    "what a load resists (%s), or a cell",
		    made.count, needed, rig->winch[0].name, rig->load[0].name);
	if (made.count > 0 && needed == 0)
		return rv_err_refuse(
		    error, "forces_extra",
		    "the force at %s is given, but the weights and where they hang "
		    "decide all forces here",
		    rv_given_name(rig, &made.given[made.count - 1]));
	if (made.count > needed)
		return rv_err_refuse(error, "forces_extra",
				     "%d forces are given (%s is one of them); %d is what the rig "
				     "can take, the others follow from it",
				     made.count, rv_given_name(rig, &made.given[made.count - 1]),
				     needed);
	*chosen = made;
	return RV_OK;
}
