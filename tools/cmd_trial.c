/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve trial: the test to run for the efficiency of a rig's sheaves, to be ticked off.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "core/quantity.h"
#include "core/trial.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/rig_file.h"
#include "tools/run_word.h"

#define LINE 78

struct asked {
	const char *within, *loads;
	bool json;
	enum rv_force_unit unit;
	struct rv_trial_ask trial;
};

static int misused(const char *option, const char *text)
{
	fprintf(stderr, "reeve trial: --%s: %s; see: reeve trial --help\n", option, text);
	return RV_EXIT_USAGE;
}

static int take_within(struct asked *asked)
{
	struct rv_amount amount;

	if (rv_quantity_read(asked->within, RV_MEASURE_RATIO, &amount, NULL) != RV_OK ||
	    !(amount.value > 0.0 && amount.value < 0.5))
		return misused("within", "write a share above 0 and below 50 %, such as 0.5%");
	asked->trial.within_ratio = amount.value;
	return RV_EXIT_DONE;
}

/* "6 kN,12 kN" */
static int take_loads(struct asked *asked)
{
	const char *comma = asked->loads ? strchr(asked->loads, ',') : NULL;
	struct rv_error error = {0};
	struct rv_amount low, high;
	char first[64];

	if (!asked->loads)
		return RV_EXIT_DONE;
	if (!comma || (size_t)(comma - asked->loads) >= sizeof first)
		return misused("loads", "write two loads, such as 6kN,12kN");
	snprintf(first, sizeof first, "%.*s", (int)(comma - asked->loads), asked->loads);
	const char *second = comma + 1 + strspn(comma + 1, " ");
	if (rv_quantity_read(first, RV_MEASURE_FORCE, &low, &error) != RV_OK ||
	    rv_quantity_read(second, RV_MEASURE_FORCE, &high, &error) != RV_OK)
		return misused("loads", error.text);
	asked->trial.low_n = fmin(low.value, high.value);
	asked->trial.high_n = fmax(low.value, high.value);
	if (!(asked->trial.low_n > 0.0) || asked->trial.high_n < 2.0 * asked->trial.low_n)
		return misused("loads", "both above 0, the heavier twice the lighter or more");
	return RV_EXIT_DONE;
}

/* A person at a terminal is asked what the rig does not say. */
static void ask_character(const struct rv_rig *rig, struct asked *asked)
{
	char line[32];

	if (asked->json || rig->loads == 0 || rig->load[0].character != RV_LOAD_UNSAID ||
	    !isatty(STDIN_FILENO))
		return;
	fprintf(stderr,
		"When the winch pays out, does %s pull the line back by itself?\n"
		"  h  it hangs, or would run away     s  no, it drags evenly\n"
		"  v  no, it drags unevenly           Enter: not known\n> ",
		rig->load[0].name);
	if (!fgets(line, sizeof line, stdin))
		return;
	if (line[0] == 'h')
		asked->trial.character = RV_LOAD_HUNG;
	else if (line[0] == 's')
		asked->trial.character = RV_LOAD_STEADY;
	else if (line[0] == 'v')
		asked->trial.character = RV_LOAD_VARIES;
}

static const char *force(const struct asked *asked, double force_n, char text[48])
{
	if (isnan(force_n))
		snprintf(text, 48, "a load of your choice");
	else
		snprintf(text, 48, "%.*f %s", rv_units_force_places(asked->unit),
			 force_n / rv_units_force_n(asked->unit), rv_units_force_name(asked->unit));
	return text;
}

static void print_head(const struct asked *asked, const struct rv_trial *trial)
{
	char low[48], high[48];

	printf("Test of the sheaves of: %s\n\n", trial->rig);
	printf("design      %s: %d %s, fixed beforehand\n", rv_estimate_mode_name(trial->design),
	       trial->pulls, trial->cycles ? "cycles (haul in, pay out)" : "hauls");
	printf("cells       %s%s%s; the sheaves between count as %.2f\n", trial->near,
	       trial->far[0] ? ", " : "", trial->far, trial->sheaves_effective);
	if (trial->design == RV_ESTIMATE_MOVED)
		printf("load        %s, the same at every pull\n",
		       force(asked, trial->high_n, high));
	else if (isnan(trial->high_n))
		printf("loads       two, the heavier at least twice the lighter\n");
	else
		printf("loads       %s and %s\n", force(asked, trial->low_n, low),
		       force(asked, trial->high_n, high));
	printf("each pull   %.1f m of line at about %.2f m/s; the load goes %.2f m\n",
	       trial->line_m, trial->line_speed_mps, trial->load_m);
	printf("to expect   efficiency within about +-%.2f percentage points (wanted: %.2f)\n\n",
	       100.0 * trial->half_width_ratio, 100.0 * trial->within_ratio);
}

static void print_steps(const struct asked *asked, const struct rv_trial *trial)
{
	char words[160], load[48];

	for (int i = 0; i < trial->steps; i++) {
		const struct rv_trial_step *step = &trial->step[i];

		rv_trial_words(trial, step, words, sizeof words);
		if (step->what == RV_TRIAL_LOAD && isnan(step->load_n))
			printf("[ ]     load: %s of the two\n",
			       step->load_n > 0.0 ? "the heavier" : "one");
		else if (step->what == RV_TRIAL_LOAD)
			printf("[ ]     %s: %s\n", words, force(asked, step->load_n, load));
		else if (step->what == RV_TRIAL_HAUL)
			printf("[ ] %2d  %s\n", step->pull, words);
		else
			printf("[ ]     %s\n", words);
	}
}

/* Words at most LINE letters wide. */
static void print_folded(const char *text)
{
	int column = 0;

	while (*text) {
		int word = (int)strcspn(text, " ");

		if (column > 0 && column + 1 + word > LINE) {
			printf("\n  ");
			column = 2;
		} else if (column > 0) {
			printf(" ");
			column++;
		}
		printf("%.*s", word, text);
		column += word;
		text += word;
		text += strspn(text, " ");
	}
	printf("\n");
}

static int answer(const struct asked *asked, const struct rv_predictor *predictor)
{
	static struct rv_trial trial;
	struct rv_error error = {0};

	if (rv_trial_make(predictor, &asked->trial, &trial, &error) != RV_OK) {
		fprintf(stderr, "reeve trial: %s%s%s\n", error.tag, error.tag[0] ? ": " : "",
			error.text);
		return RV_EXIT_REFUSED;
	}
	if (asked->json)
		return rv_run_word_print(rv_trial_json(&trial));
	print_head(asked, &trial);
	print_steps(asked, &trial);
	printf("\n");
	for (int i = 0; i < trial.notes; i++)
		print_folded(trial.note[i].text);
	return RV_EXIT_DONE;
}

static int refuse(const char *file, const struct rv_error *error)
{
	fprintf(stderr, "reeve trial: %s:", file);
	if (error->line > 0)
		fprintf(stderr, "%d:%d:", error->line, error->column);
	fprintf(stderr, " %s\n", error->text);
	return RV_EXIT_REFUSED;
}

static int run(int argc, char **argv)
{
	static struct rv_rig rig;
	struct asked asked = {.within = "0.5%", .unit = RV_FORCE_KN, .trial = rv_trial_ask_init()};
	struct rv_predictor *predictor = NULL;
	struct rv_error error = {0};
	const struct rv_opt opts[] = {
	    {"within", "RATIO", "half-width wanted, such as 0.5%; else 0.5%", RV_OPT_TEXT,
	     &asked.within},
	    {"loads", "L,H", "the two loads, such as 6kN,12kN; else from the rig", RV_OPT_TEXT,
	     &asked.loads},
	    {"json", NULL, "print one JSON object, SI units", RV_OPT_FLAG, &asked.json},
	    {"unit", "UNIT", "kN N daN kgf tf lbf klbf; else kN", RV_OPT_FORCE_UNIT, &asked.unit},
	};
	const struct rv_usage usage = {
	    .command = "trial",
	    .operands = "RIG",
	    .about = "The test to run for the efficiency of a rig's sheaves: design, number of\n"
		     "pulls, loads, order, and how much line each pull takes, to be ticked off.\n"
		     "What the load does when the winch pays out decides the design: declare it\n"
		     "in the rig (character: hung, steady or varies).",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	int status = take_within(&asked);
	if (status == RV_EXIT_DONE)
		status = take_loads(&asked);
	if (status != RV_EXIT_DONE)
		return status;
	if (rv_rig_file_read(argv[1], &rig, &error) != RV_OK ||
	    rv_predictor_new(&rig, &predictor, &error) != RV_OK)
		return refuse(argv[1], &error);
	ask_character(&rig, &asked);
	status = answer(&asked, predictor);
	rv_predictor_free(predictor);
	return status;
}

const struct rv_command rv_cmd_trial = {
    .name = "trial",
    .summary = "the test to run for the efficiency of a rig's sheaves",
    .run = run,
};
