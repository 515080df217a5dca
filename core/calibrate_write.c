/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibrate_write.h"

#include <math.h>

#include "core/json.h"

static void write_terms(struct rv_text *text, const char *key, const double *terms, int degree)
{
	rv_text_add(text, "%s: [", key);
	for (int i = 0; i <= degree; i++)
		rv_text_add(text, "%s%.17g", i ? ", " : "", terms[i]);
	rv_text_add(text, "]\n");
}

/* In double quotes, as YAML and JSON both read them. */
static void write_word(struct rv_text *text, const char *key, const char *word)
{
	rv_text_add(text, "%s: \"", key);
	for (const char *c = word; *c; c++)
		rv_text_add(text, "%s%c", *c == '"' || *c == '\\' ? "\\" : "", *c);
	rv_text_add(text, "\"\n");
}

static void write_budget(const struct rv_calibrate *calibrate, struct rv_text *text)
{
	rv_text_add(text,
		    "# Standard uncertainties.  What all loads share (the gain of the weights or "
		    "of the reference cell)\n# is not in them: add it to the gain, as root of "
		    "the sum of squares.\n");
	rv_text_add(text, "gain_uncertainty: {standard: %.6g %%}\n",
		    100.0 * calibrate->gain_u_ratio);
	rv_text_add(text, "zero_uncertainty: {standard: %.6g N}\n", calibrate->zero_u_n);
	if (isnan(calibrate->drift_u_n))
		rv_text_add(text, "# drift_uncertainty: {standard: ... N}   between two zeros; the "
				  "points do not show it\n");
	else
		rv_text_add(text, "drift_uncertainty: {standard: %.6g N}\n", calibrate->drift_u_n);
}

void rv_calibrate_write_yaml(const struct rv_calibrate *calibrate,
			     const struct rv_calibrate_paper *paper, struct rv_text *text)
{
	write_word(text, "calibration", paper->name);
	rv_text_add(text, "made: %s\n", paper->made);
	rv_text_add(text,
		    "# What only you know; take the # away and fill in:\n"
		    "# cell: serial number\n"
		    "# certificate: number\n"
		    "# laboratory: who applied the loads\n"
		    "# due: %s   when it must be done again\n",
		    paper->made);
	rv_text_add(text, "unit_of_reading: as received\n"
			  "# Reading = c0 + c1 load + ..., load in N; lowest power first.\n");
	write_terms(text, "coefficients", calibrate->curve.c, calibrate->curve.degree);
	rv_text_add(text, "# Load in N = a0 + a1 reading + ...; within %.3g N of the curve.\n",
		    calibrate->inverse_error_n);
	write_terms(text, "inverse", calibrate->inverse.a, calibrate->inverse.degree);
	rv_text_add(text, "span: [%.17g N, %.17g N]\n", calibrate->span_low_n,
		    calibrate->span_high_n);
	write_budget(calibrate, text);
	rv_text_add(text, "points: %s\n", paper->sha256);
}

static json_t *list(const double *values, int count)
{
	json_t *made = json_array();

	for (int i = 0; i < count; i++)
		json_array_append_new(made, rv_json_real(values[i]));
	return made;
}

static json_t *warnings(const struct rv_calibrate *calibrate)
{
	json_t *made = json_array();

	for (int i = 0; i < calibrate->notes; i++) {
		json_t *note = json_object();
		json_object_set_new(note, "code", rv_json_text(calibrate->note[i].code));
		json_object_set_new(note, "text", rv_json_text(calibrate->note[i].text));
		json_array_append_new(made, note);
	}
	return made;
}

json_t *rv_calibrate_write_json(const struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	int terms = curve->degree + 1;
	double u[RV_POLYNOMIAL_TERMS];
	double span_n[2] = {calibrate->span_low_n, calibrate->span_high_n};
	json_t *made = json_object(), *rows = json_array();

	for (int i = 0; i < terms; i++) {
		u[i] = sqrt(curve->covariance[i][i]);
		json_array_append_new(rows, list(curve->covariance[i], terms));
	}
	json_object_set_new(made, "degree", json_integer(curve->degree));
	json_object_set_new(made, "coefficients", list(curve->c, terms));
	json_object_set_new(made, "u", list(u, terms));
	json_object_set_new(made, "covariance", rows);
	json_object_set_new(made, "residual_sd", rv_json_real(calibrate->residual_sd));
	json_object_set_new(made, "dof", json_integer(curve->dof));
	json_object_set_new(made, "lower_limit_factor_n",
			    rv_json_real(calibrate->lower_limit_factor_n));
	json_object_set_new(made, "inverse",
			    list(calibrate->inverse.a, calibrate->inverse.degree + 1));
	json_object_set_new(made, "inverse_error_n", rv_json_real(calibrate->inverse_error_n));
	json_object_set_new(made, "span_n", list(span_n, 2));
	json_object_set_new(made, "warnings", warnings(calibrate));
	return made;
}
