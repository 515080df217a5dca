/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve compare: do groups of runs differ in efficiency, and how many pulls would tell.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/compare_json.h"
#include "core/quantity.h"
#include "schema/estimation.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/run_word.h"

#define US_PER_S 1e6

struct group {
	const char *word;
	int count;
	struct rv_estimation_run run[RV_ESTIMATE_RUNS];
	struct rv_estimation *estimation;
	struct rv_compare_run place[RV_ESTIMATE_RUNS];
};

/* "1 %", "1%" or 0.01 */
static bool take_ratio(const char *text, double *ratio)
{
	struct rv_amount amount;

	if (rv_quantity_read(text, RV_MEASURE_RATIO, &amount, NULL) != RV_OK)
		return false;
	*ratio = amount.value;
	return *ratio > 0.0 && *ratio < 0.5;
}

static int open_one(struct group *group, const char *word)
{
	struct rv_error error = {0};

	if (group->count == RV_ESTIMATE_RUNS) {
		fprintf(stderr, "reeve compare: %s: more than %d runs in a group\n", group->word,
			RV_ESTIMATE_RUNS);
		return RV_EXIT_USAGE;
	}
	struct rv_estimation_run *run = &group->run[group->count];
	if (rv_run_word_open(word, &run->store, &run->number, &error) != RV_OK)
		return rv_run_word_refuse("compare", &error);
	group->count++;
	return RV_EXIT_DONE;
}

/* RECORD:RUN+RUN+RECORD:RUN: a piece without a record is of the one before. */
static int open_group(struct group *group)
{
	char record[4096] = "", word[4096 + 256];
	const char *piece = group->word;
	int status = RV_EXIT_DONE;

	while (status == RV_EXIT_DONE && piece) {
		const char *plus = strchr(piece, '+');
		int len = plus ? (int)(plus - piece) : (int)strlen(piece);
		bool own = memchr(piece, ':', (size_t)len) != NULL;

		if (len == 0 || (!own && !record[0]) || len >= (int)sizeof record) {
			fprintf(
			    stderr,
			    "reeve compare: %s: a group is RECORD:RUN, or runs joined by +, such "
			    "as quarry.db:1+3\n",
			    group->word);
			return RV_EXIT_USAGE;
		}
		snprintf(word, sizeof word, own ? "%s%.*s" : "%s:%.*s", own ? "" : record, len,
			 piece);
		status = open_one(group, word);
		if (own) {
			snprintf(record, sizeof record, "%.*s", len, piece);
			*strrchr(record, ':') = '\0';
		}
		piece = plus ? plus + 1 : NULL;
	}
	return status;
}

static int estimate_group(struct group *group, struct rv_compare_group *into)
{
	struct rv_estimation_ask ask;
	struct rv_error error = {0};

	rv_estimation_ask_init(&ask);
	if (rv_estimation_make(group->run, group->count, &ask, &group->estimation, &error) != RV_OK)
		return rv_run_word_refuse("compare", &error);
	const struct rv_estimation *made = group->estimation;
	/* Two runs have no interval of their own; their pulls are there all the same. */
	if (made->estimate->refused && strcmp(made->estimate->refusal.code, "two_sessions") != 0) {
		fprintf(stderr, "reeve compare: %s: %s: %s %s\n", group->word,
			made->estimate->refusal.code, made->estimate->refusal.text,
			made->estimate->refusal.cure);
		return RV_EXIT_REFUSED;
	}
	for (int r = 0; r < group->count; r++) {
		int64_t utc_us = rv_store_utc_us(group->run[r].store, made->session[r].run.from_us);
		group->place[r] =
		    (struct rv_compare_run){.number = (int)group->run[r].number,
					    .start_s = (double)utc_us / US_PER_S,
					    .cell = {made->run[r].cell[0], made->run[r].cell[1]}};
	}
	*into = (struct rv_compare_group){made->estimate, group->place, group->count,
					  made->setup.u_gain_ratio};
	return RV_EXIT_DONE;
}

static void print_groups(const struct group *groups, const struct rv_compare_result *result)
{
	for (int g = 0; g < result->groups; g++) {
		const struct rv_estimate *estimate = groups[g].estimation->estimate;

		printf("%c  %s  %d pulls or cycles", 'A' + g, groups[g].word, estimate->units);
		if (!estimate->refused)
			printf(", efficiency %.4f (95 %%: %.4f to %.4f)",
			       estimate->efficiency.ratio, estimate->efficiency.low_ratio,
			       estimate->efficiency.high_ratio);
		printf("\n");
	}
}

static void print_differences(const struct rv_compare_result *result)
{
	for (int p = 0; p < result->pairs; p++) {
		const struct rv_compare_difference *found = &result->pair[p].found;

		printf(
		    "%c - %c: %+.2f percentage points of efficiency (95 %%: %+.2f to %+.2f): %s\n",
		    'A' + result->pair[p].b, 'A' + result->pair[p].a,
		    100.0 * found->ratio_difference, 100.0 * found->low, 100.0 * found->high,
		    found->differ ? "they differ" : "not shown to differ");
	}
}

static void print_needed(const struct rv_compare_result *result)
{
	printf("To tell a difference of %.2f percentage points: ", 100.0 * result->aim_ratio);
	if (result->at_80 == 0) {
		printf("more than %d pulls in each group.\n", RV_COMPARE_MOST_PULLS);
		return;
	}
	printf("%d pulls in each group find it 4 times in 5", result->at_80);
	if (result->at_90 > 0)
		printf(", %d find it 9 times in 10", result->at_90);
	printf(" (scatter from pull to pull %.2f %%).\n", 100.0 * result->unit_sd);
}

static int print_text(const struct group *groups, const struct rv_compare_result *result)
{
	for (int g = 0; g < result->groups; g++)
		if (groups[g].estimation->session[0].run.simulated) {
			printf("SIMULATED: the instruments were played, nothing was measured.\n");
			break;
		}
	print_groups(groups, result);
	print_differences(result);
	print_needed(result);
	for (int i = 0; i < result->warnings; i++)
		printf("%s: %s\n", result->warning[i].code, result->warning[i].text);
	return RV_EXIT_DONE;
}

static int compare(struct group *groups, int count, double aim_ratio, bool as_json)
{
	struct rv_compare_result result = {.groups = count, .aim_ratio = aim_ratio};
	struct rv_error error = {0};
	int status = RV_EXIT_DONE;

	for (int g = 0; g < count && status == RV_EXIT_DONE; g++)
		status = open_group(&groups[g]);
	for (int g = 0; g < count && status == RV_EXIT_DONE; g++)
		status = estimate_group(&groups[g], &result.group[g]);
	if (status != RV_EXIT_DONE)
		return status;
	if (rv_compare_json_fill(&result, &error) != RV_OK)
		return rv_run_word_refuse("compare", &error);
	return as_json ? rv_run_word_print(rv_compare_json(&result)) : print_text(groups, &result);
}

static int run(int argc, char **argv)
{
	const char *difference = "1%";
	bool as_json = false;
	double aim_ratio = (double)NAN;
	const struct rv_opt opts[] = {
	    {"difference", "RATIO", "the difference to be told, such as 0.5%; else 1%", RV_OPT_TEXT,
	     &difference},
	    {"json", NULL, "print one JSON object, SI units", RV_OPT_FLAG, &as_json},
	};
	const struct rv_usage usage = {
	    .command = "compare",
	    .operands = "GROUP GROUP...",
	    .about = "Do groups of runs differ in efficiency? Each group is RECORD:RUN, or runs\n"
		     "joined by +, such as quarry.db:1+3. The difference is b - a, with a 95 %\n"
		     "interval, and the number of pulls that would tell a given difference. Take\n"
		     "the groups in turns (A B B A): then a drift falls out.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 2,
	    .max_operands = RV_COMPARE_GROUPS,
	};
	int count = rv_opts_parse(&usage, argc, argv);

	if (count < 0)
		return -1 - count;
	if (!take_ratio(difference, &aim_ratio)) {
		fprintf(stderr,
			"reeve compare: --difference: %s: write a share above 0 and below 50 "
			"%%, such as 0.5%%; see: reeve compare --help\n",
			difference);
		return RV_EXIT_USAGE;
	}
	struct group *groups = calloc((size_t)count, sizeof *groups);
	if (!groups) {
		fprintf(stderr, "reeve compare: no memory\n");
		return RV_EXIT_REFUSED;
	}
	for (int g = 0; g < count; g++)
		groups[g].word = argv[g + 1];
	int status = compare(groups, count, aim_ratio, as_json);
	for (int g = 0; g < count; g++) {
		rv_estimation_free(groups[g].estimation);
		for (int r = 0; r < groups[g].count; r++)
			rv_store_close(groups[g].run[r].store);
	}
	free(groups);
	return status;
}

const struct rv_command rv_cmd_compare = {
    .name = "compare",
    .summary = "whether groups of runs differ in efficiency",
    .run = run,
};
