/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve calibrate: loads applied to a cell and what it read -> its curve and the calibration file.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/calibrate.h"
#include "core/calibrate_write.h"
#include "core/digest.h"
#include "core/plan_json.h"
#include "tools/calibrate_text.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/plan_say.h"
#include "tools/put_file.h"
#include "tools/take_file.h"
#include "tools/when.h"

enum { POINTS_MB = 4 };

struct asked {
	const char *points, *out; /* out NULL = no file */
	int degree;		  /* 0 = choose */
	bool as_json;
};

static int refuse(const struct asked *asked, const char *path, const struct rv_error *error)
{
	char code[RV_PLAN_JSON_CODE];

	fprintf(stderr, "reeve calibrate: %s:", path);
	if (error->line > 0)
		fprintf(stderr, "%d:", error->line);
	if (error->line > 0 && error->column > 0)
		fprintf(stderr, "%d:", error->column);
	rv_plan_json_code(error, code);
	fprintf(stderr, " %s: %s\n", code, error->text);
	if (asked->as_json)
		rv_plan_say_json(rv_plan_json_refused(error));
	return RV_EXIT_REFUSED;
}

/* The file's name without folder and ending names the calibration. */
static enum rv_err name_of(const char *path, char name[RV_NAME_SIZE], struct rv_error *error)
{
	const char *slash = strrchr(path, '/');
	const char *base = slash ? slash + 1 : path;
	const char *dot = strrchr(base, '.');
	size_t len = dot && dot > base ? (size_t)(dot - base) : strlen(base);

	for (size_t i = 0; i < len; i++)
		if ((unsigned char)base[i] < ' ' || base[i] == 0x7f)
			len = 0;
	if (len == 0 || len >= RV_NAME_SIZE)
		return rv_err_set(error, RV_ERR_RANGE,
				  "the file's name becomes the calibration's: 1 to %d letters "
				  "without control characters, such as anchor-2026.yaml",
				  RV_NAME_SIZE - 1);
	memcpy(name, base, len);
	name[len] = '\0';
	return RV_OK;
}

static enum rv_err put(const struct asked *asked, const struct rv_calibrate *calibrate,
		       const char sha256[RV_DIGEST_SIZE], struct rv_error *error)
{
	char name[RV_NAME_SIZE], made[RV_WHEN_SIZE];
	struct rv_text text = {0};
	enum rv_err err = name_of(asked->out, name, error);

	if (err != RV_OK)
		return err;
	rv_when_today(made);
	rv_calibrate_write_yaml(calibrate, &(struct rv_calibrate_paper){name, made, sha256}, &text);
	if (text.failed)
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory");
	else
		err = rv_put_file(asked->out, text.data, text.len, error);
	rv_text_free(&text);
	return err;
}

static int say(const struct asked *asked, const struct rv_applied *applied,
	       const struct rv_calibrate *calibrate)
{
	if (asked->as_json) {
		rv_plan_say_json(rv_calibrate_write_json(calibrate));
	} else {
		rv_calibrate_text_print(applied, calibrate);
		if (asked->out)
			printf("\nWritten: %s\nWhat only you know (cell, certificate, "
			       "laboratory, due) is left to fill in\nthere.\n",
			       asked->out);
	}
	return fflush(stdout) == 0 ? RV_EXIT_DONE : RV_EXIT_REFUSED;
}

static int make(const struct asked *asked)
{
	struct rv_applied applied = {0};
	struct rv_calibrate calibrate;
	struct rv_error error = {0};
	char sha256[RV_DIGEST_SIZE], *text = NULL;
	size_t len = 0;
	enum rv_err err = rv_take_file(asked->points, POINTS_MB, &text, &len, &error);

	if (err == RV_OK)
		err = rv_applied_read(text, len, &applied, &error);
	if (err == RV_OK)
		err = rv_calibrate_make(&applied, asked->degree, &calibrate, &error);
	int status = err == RV_OK ? RV_EXIT_DONE : refuse(asked, asked->points, &error);
	if (err == RV_OK && asked->out) {
		rv_digest_of(text, len, sha256);
		if (put(asked, &calibrate, sha256, &error) != RV_OK)
			status = refuse(asked, asked->out, &error);
	}
	if (status == RV_EXIT_DONE)
		status = say(asked, &applied, &calibrate);
	rv_applied_free(&applied);
	free(text);
	return status;
}

static int run(int argc, char **argv)
{
	struct asked asked = {0};
	double degree = (double)NAN;
	const struct rv_opt opts[] = {
	    {"degree", "N", "of the curve, 1 to 3; else chosen by the points", RV_OPT_NUMBER,
	     &degree},
	    {"out", "FILE", "write the calibration file a station names", RV_OPT_TEXT, &asked.out},
	    {"json", NULL, "print one JSON object, SI units", RV_OPT_FLAG, &asked.as_json},
	};
	const struct rv_usage usage = {
	    .command = "calibrate",
	    .operands = "POINTS.csv",
	    .about = "Fits what a cell reads as a polynomial of the load applied to it, and the "
		     "way back.\n"
		     "Columns: load_n (newtons) and reading; if wanted series (a word for each "
		     "time the\n"
		     "cell was set up), direction (up or down), u_reading and u_load_n (standard\n"
		     "uncertainties: the weights are then known).  Begin and end each series at "
		     "zero load.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	for (int d = 1; d <= RV_CALIBRATE_DEGREE; d++)
		if (fabs(degree - d) < 1e-9)
			asked.degree = d;
	if (!isnan(degree) && asked.degree == 0) {
		fprintf(stderr,
			"reeve calibrate: --degree: 1, 2 or 3 is needed, as a station applies no "
			"more; see: reeve calibrate --help\n");
		return RV_EXIT_USAGE;
	}
	asked.points = argv[1];
	return make(&asked);
}

const struct rv_command rv_cmd_calibrate = {
    .name = "calibrate",
    .summary = "fit a cell's curve to applied loads and write its calibration file",
    .run = run,
};
