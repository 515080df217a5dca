/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/quantity.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "core/text.h"

enum { UNITS = 8 };

struct unit {
	const char *name;
	double si; /* value of one */
};

/* What a measure accepts.  plain = SI value of a number without unit; 0 = a unit is needed.  least,
 * most: sizes in SI that a person may mean; what is computed from numbers between them stays
 * finite. */
static const struct measure {
	const char *what;
	const char *units;
	double plain;
	double least, most;
	struct unit unit[UNITS];
} measures[] = {
    [RV_MEASURE_NUMBER] = {"a plain number", "", 1.0, 1e-12, 1e20, {{0}}},
    [RV_MEASURE_RATIO] = {"a ratio", "%", 1.0, 1e-6, 1e6, {{"%", 0.01}}},
    [RV_MEASURE_PERCENT] = {"a share", "%", 0.0, 1e-12, 1e6, {{"%", 0.01}}},
    [RV_MEASURE_FORCE] = {"a force", "N daN kN kgf tf lbf klbf", 0.0, 1e-6, 1e12, {{0}}},
    [RV_MEASURE_STAMPED] = {"a rating", "N daN kN kgf tf lbf klbf kg t lb", 0.0, 1e-6, 1e12, {{0}}},
    [RV_MEASURE_FORCE_RATE] =
	{"a change of force", "N/s daN/s kN/s kgf/s tf/s lbf/s klbf/s", 0.0, 1e-6, 1e15, {{0}}},
    [RV_MEASURE_LENGTH] = {"a length",
			   "mm cm m km in ft",
			   1.0,
			   1e-6,
			   1e7,
			   {{"mm", 0.001},
			    {"cm", 0.01},
			    {"m", 1.0},
			    {"km", 1000.0},
			    {"in", RV_FOOT_M / 12.0},
			    {"ft", RV_FOOT_M}}},
    [RV_MEASURE_MILLIMETRES] =
	{"a thickness",
	 "mm cm m in",
	 1.0,
	 1e-3,
	 1e6,
	 {{"mm", 1.0}, {"cm", 10.0}, {"m", 1000.0}, {"in", 1000.0 * RV_FOOT_M / 12.0}}},
    [RV_MEASURE_SPEED] = {"a speed",
			  "m/s m/min ft/min",
			  0.0,
			  1e-9,
			  1e6,
			  {{"m/s", 1.0}, {"m/min", 1.0 / 60.0}, {"ft/min", RV_FOOT_M / 60.0}}},
    [RV_MEASURE_TIME] = {"a time",
			 "ms s min h d",
			 0.0,
			 1e-9,
			 1e10,
			 {{"ms", 0.001}, {"s", 1.0}, {"min", 60.0}, {"h", 3600.0}, {"d", 86400.0}}},
    [RV_MEASURE_MASS] =
	{"a mass", "kg t lb", 0.0, 1e-6, 1e11, {{"kg", 1.0}, {"t", 1000.0}, {"lb", RV_POUND_KG}}},
    [RV_MEASURE_RATE] = {"a rate", "Hz", 0.0, 1e-9, 1e9, {{"Hz", 1.0}}},
};

double rv_quantity_least(enum rv_measure measure)
{
	return measures[measure].least;
}

static size_t digits(const char *text)
{
	size_t len = 0;

	while (isdigit((unsigned char)text[len]))
		len++;
	return len;
}

/* Length of the number at the start of text; 0 if there is none. */
static size_t number_len(const char *text)
{
	size_t len = text[0] == '+' || text[0] == '-';
	size_t whole = digits(text + len), part = 0;

	len += whole;
	if (text[len] == '.') {
		part = digits(text + len + 1);
		len += 1 + part;
	}
	if (whole + part == 0)
		return 0;
	if (text[len] == 'e' || text[len] == 'E') {
		size_t sign = text[len + 1] == '+' || text[len + 1] == '-';
		size_t power = digits(text + len + 1 + sign);
		if (power > 0)
			len += 1 + sign + power;
	}
	return len;
}

enum rv_err rv_quantity_split(const char *text, double *number, const char **rest)
{
	char digit[64];
	size_t len = number_len(text);

	if (len == 0 || len >= sizeof digit)
		return RV_ERR_SYNTAX;
	memcpy(digit, text, len);
	digit[len] = '\0';
	enum rv_err err = rv_text_to_double(digit, number);
	if (err != RV_OK)
		return err;
	*rest = text + len;
	while (**rest == ' ')
		(*rest)++;
	return RV_OK;
}

const char *rv_quantity_si(enum rv_measure measure)
{
	static const char *const units[] = {
	    [RV_MEASURE_NUMBER] = "",	 [RV_MEASURE_RATIO] = "",
	    [RV_MEASURE_PERCENT] = "",	 [RV_MEASURE_FORCE] = " N",
	    [RV_MEASURE_STAMPED] = " N", [RV_MEASURE_FORCE_RATE] = " N/s",
	    [RV_MEASURE_LENGTH] = " m",	 [RV_MEASURE_MILLIMETRES] = " mm",
	    [RV_MEASURE_SPEED] = " m/s", [RV_MEASURE_TIME] = " s",
	    [RV_MEASURE_MASS] = " kg",	 [RV_MEASURE_RATE] = " Hz",
	};

	return units[measure];
}

const char *rv_quantity_units(enum rv_measure measure)
{
	return measures[measure].units;
}

static enum rv_err tagged(struct rv_error *error, enum rv_err code, const char *tag,
			  const char *text)
{
	enum rv_err err = rv_err_set(error, code, "%s", text);

	if (error)
		snprintf(error->tag, sizeof error->tag, "%s", tag);
	return err;
}

/* SI value of one of the unit in the measure's own list, or 0. */
static double find_listed(const char *name, enum rv_measure measure)
{
	for (int i = 0; i < UNITS && measures[measure].unit[i].name; i++)
		if (strcmp(name, measures[measure].unit[i].name) == 0)
			return measures[measure].unit[i].si;
	return 0.0;
}

/* SI value of one of the unit, or 0 if the measure has none of that name. */
static double find_unit(const char *name, enum rv_measure measure, bool *is_mass)
{
	enum rv_force_unit force;
	char bare[RV_NAME_SIZE];
	double listed = find_listed(name, measure);

	*is_mass = false;
	if (listed > 0.0)
		return listed;
	size_t len = strlen(name);
	bool per_s = len > 2 && len < sizeof bare && strcmp(name + len - 2, "/s") == 0;
	snprintf(bare, sizeof bare, "%.*s", (int)(per_s ? len - 2 : len), name);
	bool takes_force =
	    measure == RV_MEASURE_FORCE_RATE
		? per_s
		: !per_s && (measure == RV_MEASURE_FORCE || measure == RV_MEASURE_STAMPED);
	if (takes_force && rv_units_force_find(bare, &force) == RV_OK)
		return rv_units_force_n(force);
	if (measure != RV_MEASURE_STAMPED)
		return 0.0;
	double kg = find_listed(name, RV_MEASURE_MASS);
	*is_mass = kg > 0.0;
	return kg * RV_STANDARD_GRAVITY_MPS2;
}

static enum rv_err refuse_ton(double number, enum rv_measure measure, struct rv_error *error)
{
	char text[256];
	bool as_mass = measure == RV_MEASURE_MASS || measure == RV_MEASURE_STAMPED;
	const char *suffix = as_mass ? "" : "f";

	snprintf(text, sizeof text,
		 "a bare ton has three meanings; write %.6gt%s (metric, 1000 kg each), %.6glb%s "
		 "(short, 2000 lb each) or %.6glb%s (long, 2240 lb each)",
		 number, suffix, 2000.0 * number, suffix, 2240.0 * number, suffix);
	return tagged(error, RV_ERR_UNKNOWN, "unit_ton", text);
}

/* The unit of this measure that differs only in capitals, or NULL. */
static const char *other_case(const char *unit, enum rv_measure measure, char *word, size_t size)
{
	const char *at = measures[measure].units;

	while (*at) {
		size_t len = strcspn(at, " ");
		snprintf(word, size, "%.*s", (int)len, at);
		if (strcasecmp(word, unit) == 0)
			return word;
		at += len + (at[len] == ' ');
	}
	return NULL;
}

static enum rv_err refuse_unit(const char *text, double number, const char *unit,
			       enum rv_measure measure, struct rv_error *error)
{
	const struct measure *m = &measures[measure];
	char what[300], word[32];

	if (strcasecmp(unit, "ton") == 0 || strcasecmp(unit, "tons") == 0)
		return refuse_ton(number, measure, error);
	if (measure == RV_MEASURE_FORCE && find_listed(unit, RV_MEASURE_MASS) > 0.0) {
		snprintf(what, sizeof what,
			 "%.40s is a mass, a force is needed; for the weight of that mass write "
			 "%.12g%sf",
			 text, number, unit);
		return tagged(error, RV_ERR_UNKNOWN, "force_in_mass", what);
	}
	const char *meant = other_case(unit, measure, word, sizeof word);
	if (measure == RV_MEASURE_NUMBER)
		snprintf(what, sizeof what, "\"%.40s\" is not a plain number; no unit goes here",
			 text);
	else if (meant)
		snprintf(what, sizeof what,
			 "unit \"%.20s\" in \"%.40s\"; did you mean %s? allowed: %s", unit, text,
			 meant, m->units);
	else
		snprintf(what, sizeof what,
			 "unit \"%.20s\" in \"%.40s\" is no unit of %s; allowed: %s", unit, text,
			 m->what, m->units);
	return tagged(error, RV_ERR_UNKNOWN, "unit_unknown", what);
}

static enum rv_err refuse_number(const char *text, const struct measure *m, struct rv_error *error)
{
	char what[300];

	snprintf(what, sizeof what, "\"%.60s\" is no number%s; %s is needed%s%s%s", text,
		 strchr(text, ',') ? " (write a decimal point, no comma)" : "", m->what,
		 *m->units ? ", in " : "", m->units,
		 m->plain > 0.0 && *m->units ? " or plain" : "");
	return tagged(error, RV_ERR_SYNTAX, "number", what);
}

enum rv_err rv_quantity_read(const char *text, enum rv_measure measure, struct rv_amount *amount,
			     struct rv_error *error)
{
	const struct measure *m = &measures[measure];
	const char *unit;
	double number, si = m->plain;
	bool is_mass = false;
	char what[300];

	if (rv_quantity_split(text, &number, &unit) != RV_OK)
		return refuse_number(text, m, error);
	if (*unit == ',' || isdigit((unsigned char)*unit))
		return refuse_number(text, m, error);
	if (*unit) {
		si = find_unit(unit, measure, &is_mass);
		if (si <= 0.0)
			return refuse_unit(text, number, unit, measure, error);
	} else if (si <= 0.0) {
		snprintf(what, sizeof what, "\"%.40s\" has no unit; %s is needed, in %s", text,
			 m->what, m->units);
		return tagged(error, RV_ERR_MISSING, "unit_missing", what);
	}
	if (!(fabs(number * si) <= m->most)) {
		snprintf(what, sizeof what, "%.40s is beyond what %s can be: at most %.6g%s", text,
			 m->what, m->most, rv_quantity_si(measure));
		return tagged(error, RV_ERR_RANGE, "value_range", what);
	}
	*amount = (struct rv_amount){
	    .value = number * si, .as_mass = is_mass, .percent = strcmp(unit, "%") == 0};
	return RV_OK;
}
