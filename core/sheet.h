/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A hand sheet: readings of the cells taken by eye while the line moved, one row for each pull.
 *
 *	direction,lead_n,anchor_n[,load_n]
 *	in,5210,4390
 *	out,4390,5180
 *
 * direction is in or out; the next one or two columns are cells of the rig as NAME_n, forces in
 * newtons above zero; load_n, where it stands, is the weight of what hung there in that pull.  The
 * columns are told by their names and may stand in any order.  Read strictly: a sheet with one wrong
 * field is refused whole.
 *
 * What a sheet cannot tell: times, line speed, whether every sheave turned, how the pulls followed
 * one another.  Each haul, with the paying out below it, is taken as begun anew from slack.
 */
#ifndef RV_CORE_SHEET_H
#define RV_CORE_SHEET_H

#include <stddef.h>

#include "core/curve.h"
#include "core/estimate.h"
#include "core/predict.h"
#include "core/rig.h"

enum { RV_SHEET_CELLS = 2 };

struct rv_sheet_row {
	int line; /* in the file */
	enum rv_motion direction;
	double cell_n[RV_SHEET_CELLS]; /* NaN where there is one cell only */
	double load_n;		       /* NaN without that column */
};

struct rv_sheet {
	int cells;		  /* 1 or 2 */
	int cell[RV_SHEET_CELLS]; /* of the rig, in the order of the columns */
	bool has_load;
	int rows; /* 1 .. RV_ESTIMATE_PULLS */
	struct rv_sheet_row row[RV_ESTIMATE_PULLS];
};

/* len bytes of CSV (core/csv); the names are those of this rig's cells.  RV_ERR_SYNTAX,
 * RV_ERR_UNKNOWN (a column that is no cell, a direction that is no word), RV_ERR_MISSING,
 * RV_ERR_RANGE (a force not above zero, too many rows), with line and column; RV_ERR_NOMEM. */
enum rv_err rv_sheet_read(const char *text, size_t len, const struct rv_rig *rig,
			  struct rv_sheet *sheet, struct rv_error *error);

/* All that rv_estimate_make takes; the parts point at one another, so it must not be copied. */
struct rv_sheet_case {
	struct rv_curve curve;
	struct rv_estimate_run run; /* nothing is stated of the cells */
	struct rv_estimate_setup setup;
	int pulls;
	struct rv_estimate_pull pull[RV_ESTIMATE_PULLS]; /* times NaN */
};

/* Two cells: by cycles or hauls.  One cell: hung, against the rig's only load.  predictor is that of
 * the rig the sheet was read with and must outlive the case.  RV_ERR_REFUSED: the tags of
 * core/curve. */
enum rv_err rv_sheet_prepare(const struct rv_sheet *sheet, const struct rv_predictor *predictor,
			     struct rv_sheet_case *made, struct rv_error *error);

/* Median over the hauls of ln(load / near cell); NaN without a load column or without hauls. */
double rv_sheet_load_log(const struct rv_sheet *sheet, int near_cell);

#endif
