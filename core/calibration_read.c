/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibration_read.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "core/form.h"
#include "core/inverse.h"
#include "core/stated.h"

#define UNKNOWN ((double)NAN)

enum { TERMS = 4 };

struct form {
	struct rv_calibration_file file;
	const struct rv_yaml_node *coefficients, *inverse, *gain, *zero, *drift;
	struct rv_range span_n;
};

bool rv_calibration_is_date(const char *text)
{
	static const char form[] = "dddd-dd-dd";

	if (strlen(text) != strlen(form))
		return false;
	for (size_t i = 0; form[i]; i++)
		if (form[i] == 'd' ? !isdigit((unsigned char)text[i]) : text[i] != form[i])
			return false;
	int month = (text[5] - '0') * 10 + text[6] - '0',
	    day = (text[8] - '0') * 10 + text[9] - '0';
	return month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

bool rv_calibration_is_past(const struct rv_calibration *calibration, const char *today)
{
	return calibration->due[0] && strcmp(calibration->due, today) < 0;
}

/* A polynomial, lowest power first: 2 to 4 numbers, the last not zero. */
static enum rv_err read_terms(const struct rv_yaml_node *node, double *terms, int *degree,
			      struct rv_error *error)
{
	const struct rv_form_key key = {.key = node->key, .kind = RV_FORM_AMOUNT};
	int i = 0;

	if (node->kind != RV_YAML_LIST || node->count < 2 || node->count > TERMS)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "%s is a list of 2 to %d numbers, lowest power first",
				      node->key, TERMS);
	for (const struct rv_yaml_node *term = node->first; term; term = term->next, i++) {
		enum rv_err err = rv_form_value(term, &key, &terms[i], error);
		if (err != RV_OK)
			return err;
	}
	for (i = 1; i < node->count; i++)
		if (fabs(terms[i]) > 0.0) {
			*degree = node->count - 1;
			return RV_OK;
		}
	return rv_yaml_refuse(error, node, RV_ERR_RANGE, "value_range",
			      "%s does not depend on its argument: all terms but the first are 0",
			      node->key);
}

static enum rv_err check_texts(const struct rv_yaml_node *root, const struct form *form,
			       struct rv_error *error)
{
	const struct rv_calibration_file *file = &form->file;
	const char *sum = file->calibration.sha256;

	if (file->made[0] && !rv_calibration_is_date(file->made))
		return rv_yaml_refuse(error, rv_yaml_get(root, "made"), RV_ERR_SYNTAX, "value_form",
				      "made is \"%s\"; a date such as 2026-03-31 is needed",
				      file->made);
	if (file->calibration.due[0] && !rv_calibration_is_date(file->calibration.due))
		return rv_yaml_refuse(error, rv_yaml_get(root, "due"), RV_ERR_SYNTAX, "value_form",
				      "due is \"%s\"; a date such as 2026-03-31 is needed",
				      file->calibration.due);
	if (sum[0] && (strlen(sum) != 64 || strspn(sum, "0123456789abcdef") != 64))
		return rv_yaml_refuse(error, rv_yaml_get(root, "points"), RV_ERR_SYNTAX,
				      "value_form",
				      "points is a SHA-256: 64 digits of 0-9 and a-f");
	return RV_OK;
}

static enum rv_err read_parts(const struct rv_yaml_node *root, double capacity_n, struct form *form,
			      struct rv_error *error)
{
	struct rv_calibration *calibration = &form->file.calibration;
	enum rv_err err = check_texts(root, form, error);

	if (err == RV_OK)
		err = read_terms(form->inverse, calibration->conversion.a,
				 &calibration->conversion.degree, error);
	if (err == RV_OK && form->coefficients)
		err = read_terms(form->coefficients, form->file.coefficients, &form->file.degree,
				 error);
	if (err == RV_OK && form->gain)
		err = rv_stated_read(form->gain, RV_MEASURE_FORCE, capacity_n, &calibration->gain,
				     error);
	if (err == RV_OK && form->zero)
		err = rv_stated_read(form->zero, RV_MEASURE_FORCE, capacity_n, &calibration->zero,
				     error);
	if (err == RV_OK && form->drift)
		err = rv_stated_read(form->drift, RV_MEASURE_FORCE, capacity_n, &calibration->drift,
				     error);
	return err;
}

/* Where the file holds what it takes: how far the way there and back misses. */
static double inverse_error_n(const struct rv_calibration_file *file)
{
	const struct rv_inverse_curve curve = {.c = file->coefficients,
					       .degree = file->degree,
					       .low_n = file->span_low_n,
					       .high_n = file->span_high_n};

	if (file->degree < 1 || !(file->span_high_n > file->span_low_n))
		return UNKNOWN;
	return rv_inverse_error(&curve, &file->calibration.conversion);
}

static enum rv_err read_file(const struct rv_yaml_node *root, double capacity_n, struct form *form,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_TEXT("calibration", struct form, file.calibration.name, true),
	    RV_KEY_TEXT("made", struct form, file.made, false),
	    RV_KEY_TEXT("cell", struct form, file.cell, false),
	    RV_KEY_TEXT("certificate", struct form, file.certificate, false),
	    RV_KEY_TEXT("laboratory", struct form, file.laboratory, false),
	    RV_KEY_TEXT("due", struct form, file.calibration.due, false),
	    RV_KEY_TEXT("unit_of_reading", struct form, file.unit_of_reading, true),
	    RV_KEY_NODE("coefficients", struct form, coefficients, false),
	    RV_KEY_NODE("inverse", struct form, inverse, true),
	    RV_KEY_RANGE("span", struct form, span_n, RV_MEASURE_FORCE, RV_FORM_ANY),
	    RV_KEY_NODE("gain_uncertainty", struct form, gain, false),
	    RV_KEY_NODE("zero_uncertainty", struct form, zero, false),
	    RV_KEY_NODE("drift_uncertainty", struct form, drift, false),
	    RV_KEY_TEXT("points", struct form, file.calibration.sha256, false),
	};
	enum rv_err err =
	    rv_form_read(root, "the calibration", keys, sizeof keys / sizeof keys[0], form, error);

	if (err == RV_OK)
		err = read_parts(root, capacity_n, form, error);
	form->file.span_low_n = form->span_n.low;
	form->file.span_high_n = form->span_n.high;
	form->file.calibration.inverse_error_n = inverse_error_n(&form->file);
	return err;
}

enum rv_err rv_calibration_read(const char *text, size_t len, double capacity_n,
				struct rv_calibration_file *file, struct rv_error *error)
{
	struct form form = {
	    .file = {.calibration = {.gain = RV_STATED_NOTHING,
				     .zero = RV_STATED_NOTHING,
				     .drift = RV_STATED_NOTHING,
				     .delay_s = UNKNOWN,
				     .inverse_error_n = UNKNOWN},
		     .degree = -1},
	    .span_n = {UNKNOWN, UNKNOWN, UNKNOWN},
	};
	struct rv_yaml *yaml;
	enum rv_err err = rv_yaml_new(text, len, &yaml, error);

	if (err != RV_OK)
		return err;
	err = read_file(rv_yaml_root(yaml), capacity_n, &form, error);
	rv_yaml_free(yaml);
	if (err == RV_OK)
		*file = form.file;
	return err;
}
