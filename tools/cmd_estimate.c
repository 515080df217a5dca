/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve estimate: what each sheave really cost, with an interval; or the reason why none can be
 * given.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/text.h"
#include "schema/estimation.h"
#include "tools/cmd.h"
#include "tools/estimate_sheet.h"
#include "tools/estimate_text.h"
#include "tools/opts.h"
#include "tools/run_word.h"
#include "tools/take_file.h"

enum { CALIBRATION_MOST_MB = 1 };

struct asked {
	const char *cells, *excess, *sheet, *rig;
	enum rv_force_unit unit;
	bool json;
	struct rv_estimation_ask ask;
	struct rv_opt_list calibrations; /* CHANNEL=FILE */
	struct rv_recalibration calibration[RV_RECALIBRATIONS];
	char *text[RV_RECALIBRATIONS];
	char channel[RV_RECALIBRATIONS][RV_NAME_SIZE];
	char near[RV_NAME_SIZE], far[RV_NAME_SIZE];
};

static int misused(const char *option, const char *text)
{
	fprintf(stderr, "reeve estimate: --%s: %s; see: reeve estimate --help\n", option, text);
	return RV_EXIT_USAGE;
}

/* "NEAR,FAR". */
static int take_cells(struct asked *asked)
{
	const char *comma = asked->cells ? strchr(asked->cells, ',') : NULL;

	if (!asked->cells)
		return RV_EXIT_DONE;
	if (!comma || comma == asked->cells || comma[1] == '\0' || strchr(comma + 1, ','))
		return misused("cells", "write the two cells as NEAR,FAR");
	snprintf(asked->near, sizeof asked->near, "%.*s", (int)(comma - asked->cells),
		 asked->cells);
	snprintf(asked->far, sizeof asked->far, "%s", comma + 1);
	asked->ask.pulls.near = asked->near;
	asked->ask.pulls.far = asked->far;
	return RV_EXIT_DONE;
}

/* "0,0.2": bounds of how much more a sheave loses paying out than hauling in. */
static int take_excess(struct asked *asked)
{
	const char *comma = asked->excess ? strchr(asked->excess, ',') : NULL;
	char low[32];

	if (!asked->excess)
		return RV_EXIT_DONE;
	if (!comma || (size_t)(comma - asked->excess) >= sizeof low)
		return misused("excess", "write the bounds as LO,HI, such as 0,0.20");
	snprintf(low, sizeof low, "%.*s", (int)(comma - asked->excess), asked->excess);
	if (rv_text_to_double(low, &asked->ask.excess_low_ratio) != RV_OK ||
	    rv_text_to_double(comma + 1, &asked->ask.excess_high_ratio) != RV_OK)
		return misused("excess", "write the bounds as two numbers LO,HI, such as 0,0.20");
	if (!(asked->ask.excess_low_ratio > -1.0 &&
	      asked->ask.excess_low_ratio <= asked->ask.excess_high_ratio &&
	      asked->ask.excess_high_ratio <= 5.0))
		return misused("excess", "LO must not be above HI, both within -1 and 5");
	return RV_EXIT_DONE;
}

/* "CHANNEL=FILE", each. */
static int take_calibration(struct asked *asked, size_t i)
{
	const char *word = asked->calibrations.text[i], *equals = strchr(word, '=');
	struct rv_recalibration *by = &asked->calibration[i];
	struct rv_error error = {0};

	if (!equals || equals == word || equals[1] == '\0' ||
	    (size_t)(equals - word) >= sizeof asked->channel[i])
		return misused("calibration", "write CHANNEL=FILE, such as lead=lead-2026.yaml");
	snprintf(asked->channel[i], sizeof asked->channel[i], "%.*s", (int)(equals - word), word);
	for (size_t k = 0; k < i; k++)
		if (strcmp(asked->channel[k], asked->channel[i]) == 0)
			return misused("calibration", "one channel is given twice");
	by->channel = asked->channel[i];
	by->path = equals + 1;
	if (rv_take_file(by->path, CALIBRATION_MOST_MB, &asked->text[i], &by->len, &error) !=
	    RV_OK) {
		fprintf(stderr, "reeve estimate: %s: %s\n", by->path, error.text);
		return RV_EXIT_REFUSED;
	}
	by->text = asked->text[i];
	return RV_EXIT_DONE;
}

static int take_calibrations(struct asked *asked)
{
	int status = RV_EXIT_DONE;

	for (size_t i = 0; status == RV_EXIT_DONE && i < asked->calibrations.count; i++)
		status = take_calibration(asked, i);
	asked->ask.pulls.recalibration = asked->calibration;
	asked->ask.pulls.recalibrations = (int)asked->calibrations.count;
	return status;
}

static int open_runs(int count, char **words, struct rv_estimation_run *runs)
{
	struct rv_error error = {0};

	for (int i = 0; i < count; i++) {
		if (rv_run_word_open(words[i], &runs[i].store, &runs[i].number, &error) != RV_OK)
			return rv_run_word_refuse("estimate", &error);
		for (int k = 0; k < i; k++) {
			if (runs[k].number != runs[i].number || strcmp(words[k], words[i]) != 0)
				continue;
			fprintf(stderr, "reeve estimate: %s is given twice\n", words[i]);
			return RV_EXIT_USAGE;
		}
	}
	return RV_EXIT_DONE;
}

static enum rv_force_unit unit_of(const struct rv_estimation *estimation)
{
	enum rv_force_unit unit = RV_FORCE_KN;

	/* A unit that is not known leaves kN. */
	(void)rv_units_force_find(estimation->session[0].run.unit, &unit);
	return unit;
}

static int answer(const struct asked *asked, const struct rv_estimation *estimation)
{
	if (asked->json) {
		int status = rv_run_word_print(rv_estimation_json(estimation));

		return status == RV_EXIT_DONE ? rv_estimate_text_refusal(estimation->estimate)
					      : status;
	}
	struct rv_estimate_told told = rv_estimation_told(estimation);
	if (estimation->session[0].run.simulated)
		printf("SIMULATED: the instruments were played, nothing was measured.\n");
	return rv_estimate_text_print(&estimation->setup, estimation->estimate, &told,
				      asked->unit == RV_FORCE_UNITS ? unit_of(estimation)
								    : asked->unit);
}

static int estimate_runs(const struct asked *asked, int count, char **words)
{
	struct rv_estimation_run runs[RV_ESTIMATE_RUNS] = {{NULL, 0}};
	struct rv_estimation *estimation = NULL;
	struct rv_error error = {0};
	int status = open_runs(count, words, runs);

	if (status == RV_EXIT_DONE) {
		if (rv_estimation_make(runs, count, &asked->ask, &estimation, &error) == RV_OK)
			status = answer(asked, estimation);
		else
			status = rv_run_word_refuse("estimate", &error);
	}
	rv_estimation_free(estimation);
	for (int i = 0; i < count; i++)
		rv_store_close(runs[i].store);
	return status;
}

static int estimate_sheet(const struct asked *asked, int operands)
{
	const struct rv_estimate_sheet sheet = {
	    .sheet = asked->sheet,
	    .rig = asked->rig,
	    .excess_low_ratio = asked->ask.excess_low_ratio,
	    .excess_high_ratio = asked->ask.excess_high_ratio,
	    .unit = asked->unit == RV_FORCE_UNITS ? RV_FORCE_KN : asked->unit,
	    .json = asked->json,
	};

	if (!asked->sheet)
		return misused("rig", "goes with --pulls; a run has a rig of its own");
	if (!asked->rig)
		return misused("pulls", "a sheet needs the rig it was read at: --rig RIG");
	if (operands > 0 || asked->cells || asked->ask.pulls.motion ||
	    asked->calibrations.count > 0)
		return misused("pulls",
			       "a sheet stands alone: no run, --cells, --motion, --calibration");
	return rv_estimate_sheet_run(&sheet);
}

static int go(struct asked *asked, int operands, char **argv)
{
	int status = take_cells(asked);

	if (status == RV_EXIT_DONE)
		status = take_excess(asked);
	if (status != RV_EXIT_DONE)
		return status;
	if (asked->sheet || asked->rig)
		return estimate_sheet(asked, operands);
	if (operands == 0) {
		fprintf(stderr,
			"reeve estimate: RECORD:RUN is missing; see: reeve estimate --help\n");
		return RV_EXIT_USAGE;
	}
	status = take_calibrations(asked);
	if (status == RV_EXIT_DONE)
		status = estimate_runs(asked, operands, argv + 1);
	for (size_t i = 0; i < asked->calibrations.count; i++)
		free(asked->text[i]);
	return status;
}

static int run(int argc, char **argv)
{
	struct asked asked = {.unit = RV_FORCE_UNITS};
	double line_speed_mps = (double)NAN;
	const struct rv_opt opts[] = {
	    {"cells", "NEAR,FAR", "the pair of cells; else the one with most sheaves between",
	     RV_OPT_TEXT, &asked.cells},
	    {"motion", "SOURCE", "payout, turns, switch or marks; else the best there is",
	     RV_OPT_TEXT, &asked.ask.pulls.motion},
	    {"line-speed", "MPS", "of the line while it moves, m/s: for switch and marks",
	     RV_OPT_NUMBER, &line_speed_mps},
	    {"excess", "LO,HI", "how much more a sheave may lose paying out; else 0,0.20",
	     RV_OPT_TEXT, &asked.excess},
	    {"calibration", "CHANNEL=FILE",
	     "another calibration than the one frozen with the run; may be repeated", RV_OPT_LIST,
	     &asked.calibrations},
	    {"pulls", "SHEET.csv", "pulls read by eye: direction,CELL_n,CELL_n[,load_n]",
	     RV_OPT_TEXT, &asked.sheet},
	    {"rig", "RIG", "the rig file that goes with --pulls", RV_OPT_TEXT, &asked.rig},
	    {"json", NULL, "print one JSON object, SI units", RV_OPT_FLAG, &asked.json},
	    {"unit", "UNIT", "kN N daN kgf tf lbf klbf; else the station's", RV_OPT_FORCE_UNIT,
	     &asked.unit},
	};
	const struct rv_usage usage = {
	    .command = "estimate",
	    .operands = "RECORD:RUN... | --pulls SHEET.csv --rig RIG",
	    .about = "What each sheave really cost: its efficiency while hauling in, with a 95 %\n"
		     "interval and its budget; or the reason why the record can give none, and\n"
		     "what would cure it. Three runs or more of one set-up count as one answer\n"
		     "each, so that what changes from run to run is in the interval.\n"
		     "Marks that count: hauling in, paying out, stopped, cells exchanged,\n"
		     "rigged anew.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 0,
	    .max_operands = RV_ESTIMATE_RUNS,
	};

	rv_estimation_ask_init(&asked.ask);
	int operands = rv_opts_parse(&usage, argc, argv);
	if (operands < 0)
		return -1 - operands;
	if (!isnan(line_speed_mps) && !(line_speed_mps > 0.0 && line_speed_mps <= 10.0))
		return misused("line-speed", "must be above 0 and at most 10 m/s");
	asked.ask.pulls.line_speed_mps = line_speed_mps;
	return go(&asked, operands, argv);
}

const struct rv_command rv_cmd_estimate = {
    .name = "estimate",
    .summary = "what each sheave really cost, with an interval",
    .run = run,
};
