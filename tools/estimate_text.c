/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/estimate_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tools/cmd.h"
#include "tools/table.h"

#define LINE 78

/* Words at most LINE letters wide, each line after as many blanks as the first has letters before.
 */
static void fold(const char *before, const char *text)
{
	int indent = (int)strlen(before), column = indent;

	printf("%s", before);
	while (*text) {
		int word = (int)strcspn(text, " ");

		if (column > indent && column + 1 + word > LINE) {
			printf("\n%*s", indent, "");
			column = indent;
		} else if (column > indent) {
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

static void say_interval(const char *what, const struct rv_estimate_interval *of)
{
	if (isnan(of->ratio))
		return;
	printf("  %-26s %.4f (%.4f to %.4f)   loss %.1f %% (%.1f to %.1f)\n", what, of->ratio,
	       of->low_ratio, of->high_ratio, 100.0 * (1.0 - of->ratio),
	       100.0 * (1.0 - of->high_ratio), 100.0 * (1.0 - of->low_ratio));
}

static void say_sheaves(const struct rv_estimate *estimate, const struct rv_estimate_told *told)
{
	if (told->near && told->near[0])
		printf("cells: %s (near)%s%s\n", told->near,
		       told->far && told->far[0] ? ", " : "; the load is the far one",
		       told->far && told->far[0] ? told->far : "");
	if (told->far && told->far[0] && told->sheaves == 0)
		return;
	char text[1200] = "";
	for (int i = 0; i < told->sheaves; i++) {
		size_t len = strlen(text);

		snprintf(text + len, sizeof text - len, "%s%s sheave %d", i ? ", " : "",
			 told->sheave[i].block, told->sheave[i].sheave);
	}
	size_t len = strlen(text);
	if (!isnan(estimate->sheaves_effective))
		snprintf(text + len, sizeof text - len, "; they count as %.2f",
			 estimate->sheaves_effective);
	fold("sheaves in question: ", text);
}

static void say_answer(const struct rv_estimate_setup *setup, const struct rv_estimate *estimate)
{
	printf("\nEfficiency of one sheave, with its 95 %% interval\n");
	say_interval("hauling in", &estimate->efficiency);
	if (estimate->mode != RV_ESTIMATE_HAULS)
		say_interval("mean of both directions", &estimate->mean);
	say_interval("paying out", &estimate->out);
	say_interval("with the pulls struck out", &estimate->with_struck);
	for (int i = 0; i < estimate->per_sheaves; i++) {
		char name[64];

		snprintf(name, sizeof name, "%.40s sheave %d", estimate->per_sheave[i].block,
			 estimate->per_sheave[i].sheave);
		say_interval(name, &estimate->per_sheave[i].efficiency);
	}
	if (!isnan(setup->declared_low_ratio))
		printf("  %-26s %.4f to %.4f\n", "declared in the rig", setup->declared_low_ratio,
		       setup->declared_high_ratio);
	if (!isnan(estimate->relative_gain.ratio))
		printf("  %-26s %.4f (%.4f to %.4f)\n", "cells, far over near",
		       estimate->relative_gain.ratio, estimate->relative_gain.low_ratio,
		       estimate->relative_gain.high_ratio);
}

static void add_force(struct rv_table *table, double force_n, enum rv_force_unit unit)
{
	if (isnan(force_n))
		rv_table_add(table, "-");
	else
		rv_table_add(table, "%.3f", force_n / rv_units_force_n(unit));
}

static void add_seconds(struct rv_table *table, double seconds)
{
	if (isnan(seconds))
		rv_table_add(table, "-");
	else
		rv_table_add(table, "%.1f", seconds);
}

static void say_pulls(const struct rv_estimate_setup *setup, const struct rv_estimate_told *told,
		      enum rv_force_unit unit)
{
	struct rv_table table;
	char heads[160];

	if (told->pulls == 0)
		return;
	snprintf(heads, sizeof heads,
		 ">Run|>Pull|Line|>from s|>to s|>near %s|>far %s|>ln(far/near)|Kept",
		 rv_units_force_name(unit), rv_units_force_name(unit));
	rv_table_init(&table, heads);
	for (int i = 0; i < told->pulls; i++) {
		const struct rv_estimate_pull *pull = &told->pull[i];
		bool kept = pull->why == RV_PULL_KEPT && !pull->struck;

		rv_table_add(&table, "%d", setup->run[pull->run].number);
		rv_table_add(&table, "%d", pull->index);
		rv_table_add(&table, "%s", pull->direction == RV_MOTION_IN ? "in" : "out");
		add_seconds(&table, pull->start_s);
		add_seconds(&table, pull->end_s);
		add_force(&table, pull->near_n, unit);
		add_force(&table, pull->far_n, unit);
		if (isnan(pull->log_ratio))
			rv_table_add(&table, "-");
		else
			rv_table_add(&table, "%.5f", pull->log_ratio);
		rv_table_add(&table, "%s%s",
			     kept	    ? "yes"
			     : pull->struck ? pull->struck
					    : rv_pull_why_name(pull->why),
			     pull->exchanged ? ", exchanged" : "");
	}
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void say_budget(const struct rv_estimate *estimate)
{
	struct rv_table table;

	if (estimate->sources == 0)
		return;
	rv_table_init(&table, "Uncertainty from|Kind|>standard, %|>degrees of freedom");
	for (int i = 0; i < estimate->sources; i++) {
		const struct rv_estimate_source_entry *source = &estimate->source[i];

		rv_table_add(&table, "%s", source->source);
		rv_table_add(&table, "%c", source->kind);
		rv_table_add(&table, "%.3f", 100.0 * source->u_ratio);
		if (isfinite(source->dof))
			rv_table_add(&table, "%.1f", source->dof);
		else
			rv_table_add(&table, "-");
	}
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void say_agreement(const struct rv_estimate *estimate)
{
	const struct rv_estimate_agreement *of = &estimate->agreement;

	if (of->verdict == RV_ESTIMATE_NOT_ASKED)
		return;
	char text[400] = "";
	for (int i = 0; i < of->parts; i++) {
		size_t len = strlen(text);

		snprintf(text + len, sizeof text - len, "%s%d", i ? ", " : "",
			 of->parts_of_line[i]);
	}
	size_t len = strlen(text);
	snprintf(text + len, sizeof text - len, "; the declared rig is %s",
		 of->verdict == RV_ESTIMATE_CONFIRMED	   ? "confirmed"
		 : of->verdict == RV_ESTIMATE_CONTRADICTED ? "contradicted"
							   : "not resolved from others");
	printf("\n");
	fold("Parts of line that fit what was measured: ", text);
}

static void say_loss(const struct rv_estimate *estimate, enum rv_force_unit unit)
{
	const struct rv_estimate_loss *of = &estimate->loss;
	double one_n = rv_units_force_n(unit);

	if (!of->known)
		return;
	printf("Constant part of a sheave's loss: %.4f %s (95 %%: %.4f to %.4f): %s\n",
	       of->constant_n / one_n, rv_units_force_name(unit), of->low_n / one_n,
	       of->high_n / one_n,
	       of->has_constant ? "efficiency falls with smaller loads" : "none can be told");
}

int rv_estimate_text_refusal(const struct rv_estimate *estimate)
{
	if (!estimate->refused)
		return RV_EXIT_DONE;
	fflush(stdout);
	fprintf(stderr, "reeve estimate: %s: %s\n", estimate->refusal.code, estimate->refusal.text);
	if (estimate->refusal.cure[0])
		fprintf(stderr, "  what would cure it: %s\n", estimate->refusal.cure);
	return RV_EXIT_REFUSED;
}

int rv_estimate_text_print(const struct rv_estimate_setup *setup,
			   const struct rv_estimate *estimate, const struct rv_estimate_told *told,
			   enum rv_force_unit unit)
{
	if (told->rig)
		printf("rig: %s\n", told->rig);
	say_sheaves(estimate, told);
	if (rv_estimate_mode_name(estimate->mode))
		printf("method: %s; unit: %s%s%s\n", rv_estimate_mode_name(estimate->mode),
		       rv_estimate_unit_name(estimate->unit),
		       rv_estimate_source_name(setup->motion) ? "; motion by " : "",
		       rv_estimate_source_name(setup->motion)
			   ? rv_estimate_source_name(setup->motion)
			   : "");
	if (estimate->refused)
		printf("\nNo efficiency can be given.\n");
	else
		say_answer(setup, estimate);
	for (int i = 0; i < estimate->warnings; i++)
		fold(i ? "  " : "\n! ", estimate->warning[i].text);
	say_pulls(setup, told, unit);
	say_budget(estimate);
	say_agreement(estimate);
	say_loss(estimate, unit);
	if (estimate->estimand[0]) {
		printf("\n");
		fold("", estimate->estimand);
	}
	return rv_estimate_text_refusal(estimate);
}
