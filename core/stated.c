/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/stated.h"

#include <math.h>
#include <string.h>

#include "core/form.h"

struct form {
	const struct rv_yaml_node *standard, *expanded, *within;
	double k;
	char of[RV_NAME_SIZE];
};

static enum rv_err read_form(const struct rv_yaml_node *node, struct form *form,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("standard", struct form, standard, false),
	    RV_KEY_NODE("expanded", struct form, expanded, false),
	    RV_KEY_NODE("within", struct form, within, false),
	    {.key = "k",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct form, k),
	     .limit = RV_FORM_WITHIN,
	     .low = 1.0,
	     .high = 10.0},
	    RV_KEY_TEXT("of", struct form, of, false),
	};
	enum rv_err err = RV_OK;

	if (node->kind != RV_YAML_MAP)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "uncertainty_form",
				      "an uncertainty names its form: {standard: 0.3 %%}, "
				      "{expanded: 0.6 %%, k: 2} or {within: 0.5 %%}");
	err = rv_form_read(node, "an uncertainty", keys, sizeof keys / sizeof keys[0], form, error);
	if (err != RV_OK)
		return err;
	if (!!form->standard + !!form->expanded + !!form->within != 1)
		return rv_yaml_refuse(
		    error, node, RV_ERR_REFUSED, "uncertainty_form",
		    "an uncertainty has exactly one of standard, expanded (with k) "
		    "and within");
	if (!form->expanded != isnan(form->k))
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "uncertainty_form",
				      "expanded and its coverage factor k go together, such as "
				      "{expanded: 0.6 %%, k: 2}");
	if (form->of[0] && strcmp(form->of, "capacity") != 0)
		return rv_yaml_refuse(error, rv_yaml_get(node, "of"), RV_ERR_UNKNOWN,
				      "word_unknown", "of is \"%.40s\"; allowed: capacity",
				      form->of);
	return RV_OK;
}

enum rv_err rv_stated_read(const struct rv_yaml_node *node, enum rv_measure measure,
			   double capacity, struct rv_stated *stated, struct rv_error *error)
{
	struct form form = {.k = (double)NAN};
	double value = 0.0;
	enum rv_err err = read_form(node, &form, error);

	if (err != RV_OK)
		return err;
	const struct rv_yaml_node *said = form.standard	  ? form.standard
					  : form.expanded ? form.expanded
							  : form.within;
	bool is_share = said->kind == RV_YAML_WORD && strchr(said->text, '%');
	const struct rv_form_key key = {.key = said->key,
					.kind = RV_FORM_AMOUNT,
					.measure = is_share ? RV_MEASURE_PERCENT : measure,
					.limit = RV_FORM_NOT_NEGATIVE};
	err = rv_form_value(said, &key, &value, error);
	if (err != RV_OK)
		return err;
	if (form.expanded)
		value /= form.k;
	if (form.within)
		value /= sqrt(3.0);
	if (form.of[0] && !is_share)
		return rv_yaml_refuse(error, said, RV_ERR_REFUSED, "uncertainty_form",
				      "of: capacity goes with a share in %%, not with %.40s",
				      said->text);
	if (form.of[0] && isnan(capacity))
		return rv_yaml_refuse(error, rv_yaml_get(node, "of"), RV_ERR_MISSING, "key_missing",
				      "of: capacity, but the channel states no capacity");
	*stated = RV_STATED_NOTHING;
	if (form.of[0])
		stated->value = value * capacity;
	else if (is_share)
		stated->ratio = value;
	else
		stated->value = value;
	return RV_OK;
}

bool rv_stated_is_given(const struct rv_stated *stated)
{
	return !isnan(stated->ratio) || !isnan(stated->value);
}
