/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/sheet.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/csv.h"
#include "core/form.h"
#include "core/stats.h"

/* No cell is larger; own choice. */
#define MOST_N 1e9

enum { HEADINGS = RV_RIG_CELLS + 2 };

struct reading {
	struct rv_csv *csv;
	const struct rv_rig *rig;
	int direction, load; /* place of the column in a row; -1 = none */
	int place[RV_SHEET_CELLS];
	struct rv_sheet sheet;
};

static enum rv_err refuse(struct rv_error *error, const struct rv_csv_field *field,
			  enum rv_err code, const char *tag, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

static enum rv_err refuse(struct rv_error *error, const struct rv_csv_field *field,
			  enum rv_err code, const char *tag, const char *format, ...)
{
	va_list args;

	if (!error)
		return code;
	*error = (struct rv_error){.code = code, .line = field->line, .column = field->column};
	snprintf(error->tag, sizeof error->tag, "%s", tag);
	va_start(args, format);
	vsnprintf(error->text, sizeof error->text, format, args);
	va_end(args);
	return code;
}

/* "lead_n" -> cell lead of the rig; -1: no such cell. */
static int cell_of(const struct rv_rig *rig, const char *heading)
{
	size_t len = strlen(heading);
	char name[RV_NAME_SIZE];

	if (len < 3 || len - 2 >= sizeof name || strcmp(heading + len - 2, "_n") != 0)
		return -1;
	memcpy(name, heading, len - 2);
	name[len - 2] = '\0';
	return rv_rig_find_cell(rig, name);
}

static enum rv_err no_column(const struct rv_rig *rig, const struct rv_csv_field *field,
			     struct rv_error *error)
{
	char heading[HEADINGS][RV_NAME_SIZE + 2], hint[100];
	const char *list[HEADINGS] = {"direction", "load_n"};

	for (int c = 0; c < rig->cells; c++) {
		snprintf(heading[c], sizeof heading[c], "%s_n", rig->cell[c].name);
		list[c + 2] = heading[c];
	}
	rv_form_hint(field->text, list, (size_t)rig->cells + 2, hint, sizeof hint);
	return refuse(error, field, RV_ERR_UNKNOWN, "column_unknown",
		      "there is no column \"%.60s\"%s; columns are direction, one or two cells of "
		      "the rig as NAME_n (forces in newtons) and, if wanted, load_n",
		      field->text, hint);
}

static enum rv_err twice(const struct rv_csv_field *field, struct rv_error *error)
{
	return refuse(error, field, RV_ERR_SYNTAX, "column_twice",
		      "column %.60s stands there twice; take one of them out", field->text);
}

static enum rv_err read_column(struct reading *reading, const struct rv_csv_field *field, int place,
			       struct rv_error *error)
{
	struct rv_sheet *sheet = &reading->sheet;
	int cell = cell_of(reading->rig, field->text);

	if (strcmp(field->text, "direction") == 0) {
		if (reading->direction >= 0)
			return twice(field, error);
		reading->direction = place;
		return RV_OK;
	}
	if (cell < 0 && strcmp(field->text, "load_n") == 0) {
		if (reading->load >= 0)
			return twice(field, error);
		reading->load = place;
		return RV_OK;
	}
	if (cell < 0)
		return no_column(reading->rig, field, error);
	if (sheet->cells > 0 && sheet->cell[0] == cell)
		return twice(field, error);
	if (sheet->cells == RV_SHEET_CELLS)
		return refuse(error, field, RV_ERR_RANGE, "too_many",
			      "a third cell %.60s: a sheet takes one or two", field->text);
	sheet->cell[sheet->cells] = cell;
	reading->place[sheet->cells++] = place;
	return RV_OK;
}

static enum rv_err read_heading(struct reading *reading, const struct rv_csv_row *row,
				struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (size_t i = 0; i < row->count && err == RV_OK; i++)
		err = read_column(reading, &row->field[i], (int)i, error);
	if (err != RV_OK)
		return err;
	if (reading->direction < 0 || reading->sheet.cells == 0)
		return refuse(error, &row->field[0], RV_ERR_MISSING, "column_missing",
			      "there is no column %s; the first line names the columns, such as "
			      "direction,%s_n",
			      reading->direction < 0 ? "direction" : "of a cell of the rig",
			      reading->rig->cells > 0 ? reading->rig->cell[0].name : "CELL");
	reading->sheet.has_load = reading->load >= 0;
	return RV_OK;
}

static enum rv_err read_force(struct reading *reading, const struct rv_csv_field *field,
			      double *value_n, struct rv_error *error)
{
	if (field->len == 0)
		return refuse(error, field, RV_ERR_MISSING, "value_missing",
			      "a force is missing; fill it in, or take the row out");
	enum rv_err err = rv_csv_number(reading->csv, field, value_n, error);
	if (err != RV_OK)
		return err;
	if (!(*value_n > 0.0 && *value_n <= MOST_N))
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "%.40s N: a loaded line pulls with more than 0 and at most %g N",
			      field->text, MOST_N);
	return RV_OK;
}

static enum rv_err add(struct reading *reading, const struct rv_csv_row *row,
		       struct rv_error *error)
{
	struct rv_sheet *sheet = &reading->sheet;
	const struct rv_csv_field *way = &row->field[reading->direction];
	struct rv_sheet_row got = {
	    .line = row->line, .cell_n = {(double)NAN, (double)NAN}, .load_n = (double)NAN};
	enum rv_err err = RV_OK;

	if (strcmp(way->text, "in") == 0)
		got.direction = RV_MOTION_IN;
	else if (strcmp(way->text, "out") == 0)
		got.direction = RV_MOTION_OUT;
	else
		return refuse(error, way, RV_ERR_UNKNOWN, "value_unknown",
			      "direction is \"%.40s\"; in (hauling) or out (paying out) is needed",
			      way->text);
	for (int c = 0; c < sheet->cells && err == RV_OK; c++)
		err = read_force(reading, &row->field[reading->place[c]], &got.cell_n[c], error);
	if (err == RV_OK && reading->load >= 0)
		err = read_force(reading, &row->field[reading->load], &got.load_n, error);
	if (err != RV_OK)
		return err;
	if (sheet->rows == RV_ESTIMATE_PULLS)
		return refuse(error, way, RV_ERR_RANGE, "too_many",
			      "there are more than %d pulls; give them as several sheets",
			      RV_ESTIMATE_PULLS);
	sheet->row[sheet->rows++] = got;
	return RV_OK;
}

static enum rv_err read_rows(struct reading *reading, const char *text, size_t len,
			     struct rv_error *error)
{
	struct rv_csv_row row;
	bool is_heading = true;
	enum rv_err err = RV_OK;

	if (len > 0)
		rv_csv_feed(reading->csv, text, len);
	while (err == RV_OK) {
		err = rv_csv_next(reading->csv, &row, error);
		if (err == RV_ERR_AGAIN) {
			rv_csv_feed(reading->csv, "", 0);
			err = RV_OK;
		} else if (err == RV_OK && is_heading) {
			err = read_heading(reading, &row, error);
			is_heading = false;
		} else if (err == RV_OK) {
			err = add(reading, &row, error);
		}
	}
	if (err == RV_ERR_CLOSED && reading->sheet.rows == 0)
		return rv_err_at(error, RV_ERR_MISSING, 1, 1,
				 "the sheet holds no pull; its first line names the columns, each "
				 "line below is one pull");
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

enum rv_err rv_sheet_read(const char *text, size_t len, const struct rv_rig *rig,
			  struct rv_sheet *sheet, struct rv_error *error)
{
	struct reading *reading = calloc(1, sizeof *reading);
	enum rv_err err =
	    reading ? rv_csv_new(&reading->csv) : rv_err_set(error, RV_ERR_NOMEM, "no memory");

	if (err == RV_OK) {
		reading->rig = rig;
		reading->direction = reading->load = -1;
		err = read_rows(reading, text, len, error);
	}
	if (err == RV_OK)
		*sheet = reading->sheet;
	if (reading)
		rv_csv_free(reading->csv);
	free(reading);
	return err;
}

/* ---- what an estimate is made of ---- */

static void set_pulls(const struct rv_sheet *sheet, int near, struct rv_sheet_case *made)
{
	int stint = 0;

	for (int i = 0; i < sheet->rows; i++) {
		const struct rv_sheet_row *row = &sheet->row[i];
		double far_n = sheet->cells == 2 ? row->cell_n[1 - near] : (double)NAN;
		double far_log = sheet->cells == 2 ? log(far_n) : 0.0;

		if (row->direction == RV_MOTION_IN || i == 0 || row[-1].direction == RV_MOTION_OUT)
			stint++;
		/* One cell: what hung there may differ from row to row. */
		if (sheet->cells == 1 && sheet->has_load)
			far_log = log(row->load_n);
		made->pull[made->pulls++] = (struct rv_estimate_pull){
		    .index = i + 1,
		    .direction = row->direction,
		    .start_s = (double)NAN,
		    .end_s = (double)NAN,
		    .since_zero_ratio = (double)NAN,
		    .near_n = row->cell_n[near],
		    .far_n = far_n,
		    .log_ratio = far_log - log(row->cell_n[near]),
		    .slope_ps = (double)NAN,
		    .mobilised_ratio = (double)NAN,
		    .surge_log = (double)NAN,
		    .lag_s = (double)NAN,
		    .travel_m = (double)NAN,
		    .stint = stint,
		    .unloaded_before = row->direction == RV_MOTION_IN,
		};
	}
}

static struct rv_estimate_cell unstated(const char *name)
{
	return (struct rv_estimate_cell){.name = name,
					 .u_gain_ratio = (double)NAN,
					 .u_zero_n = (double)NAN,
					 .u_drift_n = (double)NAN,
					 .u_inverse_n = (double)NAN,
					 .capacity_n = (double)NAN,
					 .delay_s = (double)NAN};
}

enum rv_err rv_sheet_prepare(const struct rv_sheet *sheet, const struct rv_predictor *predictor,
			     struct rv_sheet_case *made, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	int far = sheet->cells == 2 ? sheet->cell[1] : RV_PREDICTOR_LOAD;
	struct rv_curve curve;
	enum rv_err err = rv_curve_make(predictor, sheet->cell[0], far, &curve, error);

	if (err != RV_OK)
		return err;
	memset(made, 0, sizeof *made);
	made->curve = curve;
	made->run.number = 1;
	made->run.cell[RV_PULL_NEAR] = unstated(rig->cell[curve.near].name);
	made->run.cell[RV_PULL_FAR] = unstated(
	    curve.far == RV_PREDICTOR_LOAD ? rig->load[0].name : rig->cell[curve.far].name);
	rv_estimate_setup_init(&made->setup);
	made->setup.design = sheet->cells == 2 ? RV_ESTIMATE_TWO_CELLS : RV_ESTIMATE_ONE_HUNG;
	made->setup.run = &made->run;
	made->setup.runs = 1;
	made->setup.curve = rv_curve_function(&made->curve);
	made->setup.declared_low_ratio = curve.declared_low_ratio;
	made->setup.declared_high_ratio = curve.declared_high_ratio;
	made->setup.character = rig->loads > 0 ? rig->load[0].character : RV_LOAD_UNSAID;
	made->setup.motion = RV_ESTIMATE_BY_SHEET;
	made->setup.speed_known = true; /* by the eye of who wrote it down while the line moved */
	set_pulls(sheet, sheet->cell[0] == curve.near ? 0 : 1, made);
	return RV_OK;
}

double rv_sheet_load_log(const struct rv_sheet *sheet, int near_cell)
{
	double values[RV_ESTIMATE_PULLS], work[RV_ESTIMATE_PULLS];
	int near = sheet->cells == 2 && sheet->cell[1] == near_cell ? 1 : 0, count = 0;

	for (int i = 0; i < sheet->rows && sheet->has_load; i++)
		if (sheet->row[i].direction == RV_MOTION_IN)
			values[count++] = log(sheet->row[i].load_n / sheet->row[i].cell_n[near]);
	return rv_stats_median(values, count, work);
}
