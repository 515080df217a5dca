/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/estimate_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/estimate_make.h"
#include "core/sheet.h"
#include "tools/cmd.h"
#include "tools/estimate_text.h"
#include "tools/rig_file.h"
#include "tools/run_word.h"
#include "tools/take_file.h"

#define MOST_MB 4

/* Everything one sheet takes; large, so it lives on the heap. */
struct work {
	struct rv_rig rig;
	struct rv_predictor *predictor;
	struct rv_sheet sheet;
	struct rv_sheet_case made;
	struct rv_estimate estimate;
	struct rv_estimate_sheave sheave[RV_RIG_LEGS];
};

static int refuse(const char *path, const struct rv_error *error)
{
	fprintf(stderr, "reeve estimate: %s:", path);
	if (error->line > 0)
		fprintf(stderr, "%d:", error->line);
	if (error->line > 0 && error->column > 0)
		fprintf(stderr, "%d:", error->column);
	fprintf(stderr, " %s\n", error->text);
	return RV_EXIT_REFUSED;
}

static const char *cell_name(const struct work *work, int cell)
{
	return cell < 0 ? NULL : work->rig.cell[cell].name;
}

static int answer(const struct rv_estimate_sheet *asked, struct work *work)
{
	const struct rv_curve *curve = &work->made.curve;
	struct rv_estimate_told told = {
	    .rig = work->rig.name,
	    .near = cell_name(work, curve->near),
	    .far = cell_name(work, curve->far),
	    .sheave = work->sheave,
	    .sheaves = curve->sheaves,
	    .pull = work->made.pull,
	    .pulls = work->made.pulls,
	};

	for (int i = 0; i < curve->sheaves; i++)
		work->sheave[i] = (struct rv_estimate_sheave){
		    .block = work->rig.block[curve->sheave[i].block].name,
		    .sheave = curve->sheave[i].sheave + 1};
	if (!asked->json)
		return rv_estimate_text_print(&work->made.setup, &work->estimate, &told,
					      asked->unit);
	int status = rv_run_word_print(rv_estimate_json(&work->made.setup, &work->estimate, &told));
	return status == RV_EXIT_DONE ? rv_estimate_text_refusal(&work->estimate) : status;
}

/* The sheet against the rig; RV_EXIT_DONE: work->estimate holds an answer or a refusal. */
static int judge(const struct rv_estimate_sheet *asked, struct work *work)
{
	struct rv_error error = {0};

	rv_estimate_init(&work->estimate);
	rv_estimate_setup_init(&work->made.setup);
	enum rv_err err = rv_sheet_prepare(&work->sheet, work->predictor, &work->made, &error);
	if (err == RV_ERR_REFUSED) {
		rv_estimate_refuse(&work->estimate, error.tag[0] ? error.tag : "rig_not_covered",
				   "read cells with turning sheaves between them", "%s",
				   error.text);
		return RV_EXIT_DONE;
	}
	if (err == RV_OK && !isnan(asked->excess_low_ratio)) {
		work->made.setup.excess_low_ratio = asked->excess_low_ratio;
		work->made.setup.excess_high_ratio = asked->excess_high_ratio;
	}
	if (err == RV_OK)
		err = rv_estimate_make(&work->made.setup, work->made.pull, work->made.pulls,
				       &work->estimate);
	return err == RV_OK ? RV_EXIT_DONE : refuse(asked->sheet, &error);
}

static int read_sheet(const struct rv_estimate_sheet *asked, struct work *work)
{
	struct rv_error error = {0};
	char *text = NULL;
	size_t len = 0;

	if (rv_rig_file_read(asked->rig, &work->rig, &error) != RV_OK ||
	    rv_predictor_new(&work->rig, &work->predictor, &error) != RV_OK)
		return refuse(asked->rig, &error);
	enum rv_err err = rv_take_file(asked->sheet, MOST_MB, &text, &len, &error);
	if (err == RV_OK)
		err = rv_sheet_read(text, len, &work->rig, &work->sheet, &error);
	free(text);
	return err == RV_OK ? RV_EXIT_DONE : refuse(asked->sheet, &error);
}

int rv_estimate_sheet_run(const struct rv_estimate_sheet *asked)
{
	struct work *work = calloc(1, sizeof *work);
	int status = RV_EXIT_REFUSED;

	if (!work) {
		fprintf(stderr, "reeve estimate: no memory for the sheet\n");
		return status;
	}
	status = read_sheet(asked, work);
	if (status == RV_EXIT_DONE)
		status = judge(asked, work);
	if (status == RV_EXIT_DONE)
		status = answer(asked, work);
	rv_predictor_free(work->predictor);
	free(work);
	return status;
}
