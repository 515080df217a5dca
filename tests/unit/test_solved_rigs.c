/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whole rigs, figure by figure, against an independent prototype; the data file says what it is.
 */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/plan.h"
#include "tests/unit/plan_cases.h"

enum { ROWS = 483 }; /* of the data file */

struct row {
	char rig[32], what[32], name[64];
	int number;
	double value, low, high;
	int places; /* printed after the point */
};

static const struct {
	const char *label, *text;
} rigs[] = {
    {"redirect", RIG_REDIRECT},
    {"two parts", RIG_TWO_PARTS},
    {"three parts", RIG_THREE_PARTS},
    {"four parts", RIG_FOUR_PARTS},
    {"five parts", RIG_FIVE_PARTS},
    {"piggyback", RIG_PIGGYBACK},
    {"burton 3", RIG_BURTON_3},
    {"burton 4", RIG_BURTON_4},
    {"lower", RIG_LOWER},
    {"gully", RIG_GULLY},
    {"self", RIG_SELF},
    {"sling", RIG_SLING},
};

static double number_or_nan(const char *field)
{
	return *field ? strtod(field, NULL) : (double)NAN;
}

static bool read_row(char *line, struct row *row)
{
	char *field[7];
	int n = 0;

	line[strcspn(line, "\n")] = '\0';
	if (*line == '#' || *line == '\0' || strncmp(line, "rig,", 4) == 0)
		return false;
	for (char *at = line; at && n < 7; n++) {
		field[n] = at;
		at = strchr(at, ',');
		if (at)
			*at++ = '\0';
	}
	assert_int_equal(n, 7);
	snprintf(row->rig, sizeof row->rig, "%s", field[0]);
	snprintf(row->what, sizeof row->what, "%s", field[1]);
	snprintf(row->name, sizeof row->name, "%s", field[2]);
	row->number = (int)strtol(field[3], NULL, 10);
	row->value = strtod(field[4], NULL);
	row->low = number_or_nan(field[5]);
	row->high = number_or_nan(field[6]);
	const char *point = strchr(field[4], '.');
	row->places = point ? (int)strlen(point + 1) : 0;
	return true;
}

static int find_leg(const struct rv_plan *plan, const struct row *row)
{
	for (int l = 0; l < plan->legs; l++)
		if (plan->leg[l].leg == row->number &&
		    strcmp(plan->rig.rope[plan->leg[l].rope].name, row->name) == 0)
			return l;
	print_error("no leg %d of %s\n", row->number, row->name);
	fail();
	return 0;
}

/* "use of block" and "not rated block" speak of a block. */
static const char *kind_of(const struct row *row)
{
	const char *space = strrchr(row->what, ' ');

	return space ? space + 1 : row->what;
}

static int find_part(const struct rv_plan *plan, const struct row *row)
{
	for (int i = 0; i < plan->components; i++)
		if (strcmp(plan->component[i].name, row->name) == 0 &&
		    strcmp(plan->component[i].kind, kind_of(row)) == 0)
			return i;
	print_error("no %s %s\n", row->what, row->name);
	fail();
	return 0;
}

/* Nothing known of it but that it is not rated: 0 when so. */
static double not_rated(const struct rv_plan *plan, int part)
{
	return isnan(plan->component[part].limit_n) && isnan(plan->use_ratio[part]) ? 0.0 : 1.0;
}

static double power_lost(const struct rv_plan *plan, int sheave)
{
	const struct rv_plan_sheave *over = &plan->sheave[sheave];
	int leg = 0;

	/* The sheave between two legs of one line, counted as the plan counts sheaves. */
	for (int passed = -1; passed < sheave; leg++)
		passed += leg + 1 < plan->legs && plan->leg[leg].rope == plan->leg[leg + 1].rope;
	return fabs((plan->tension[leg - 1].nominal_n - plan->tension[leg].nominal_n) *
		    over->rope_speed_ratio);
}

static double power(const struct rv_plan *plan, const char *what)
{
	double sense = plan->rig.haul_out ? -1.0 : 1.0, lost = 0.0;

	if (strcmp(what, "power in") == 0)
		return sense * plan->winch[0].line_pull.nominal_n * plan->velocity_ratio;
	if (strcmp(what, "power out") == 0)
		return sense * plan->load[0].resists_n;
	for (int p = 0; p < plan->sheaves; p++)
		lost += power_lost(plan, p);
	return lost;
}

/* Line pull for the same resistance, the load going the other way. */
static double the_other_way(const struct rv_plan *plan)
{
	static struct rv_rig rig;
	double force_n = plan->load[0].resists_n;
	struct rv_plan_request request = {
	    .givens = {1, {{RV_GIVEN_RESISTS, 0, {force_n, force_n, force_n}}}},
	    .travel_m = (double)NAN};
	struct rv_plan *other = NULL;

	rig = plan->rig;
	rig.haul_out = !rig.haul_out;
	assert_int_equal(rv_plan_new(&rig, &request, &other, NULL), RV_OK);
	double pull_n = other->winch[0].line_pull.nominal_n;
	rv_plan_free(other);
	return pull_n;
}

/* Of the only point that floats. */
static double floats_at(const struct rv_plan *plan, int axis)
{
	for (int p = 0; p < plan->rig.points; p++)
		if (plan->rig.point[p].kind == RV_POINT_FLOATS)
			return plan->at_m[p][axis];
	return (double)NAN;
}

static double value_of(const struct rv_plan *plan, const struct row *row)
{
	if (strncmp(row->what, "power", 5) == 0)
		return power(plan, row->what);
	if (strcmp(row->what, "sheave loses") == 0)
		return power_lost(plan, row->number - 1);
	if (strcmp(row->what, "cell") == 0)
		return plan->cell[row->number - 1].nominal_n;
	if (strcmp(row->what, "resists") == 0)
		return plan->load[0].resists_n;
	if (strcmp(row->what, "without friction") == 0)
		return plan->load[0].resists_n / plan->advantage.theoretical_ratio;
	if (strcmp(row->what, "the other way") == 0)
		return the_other_way(plan);
	if (strcmp(row->what, "floats at") == 0)
		return floats_at(plan, row->number - 1);
	if (strcmp(row->what, "velocity ratio") == 0)
		return plan->velocity_ratio;
	if (strcmp(row->what, "tension") == 0)
		return plan->tension[find_leg(plan, row)].nominal_n;
	if (strcmp(row->what, "length") == 0)
		return plan->leg[find_leg(plan, row)].length_m;
	if (strcmp(row->what, "rope speed") == 0)
		return plan->sheave[row->number - 1].rope_speed_ratio;
	if (strcmp(row->what, "pin") == 0)
		return plan->sheave[row->number - 1].pin_n;
	if (strcmp(row->what, "weakest") == 0)
		return 1.0 / plan->use_ratio[plan->weakest];
	if (strcmp(row->what, "weakest at worst") == 0)
		return 1.0 / plan->use_worst_ratio[plan->weakest_worst];
	if (strcmp(row->what, "limit") == 0)
		return plan->line_pull_limit_n;
	if (strncmp(row->what, "use of ", 7) == 0)
		return 100.0 * plan->use_ratio[find_part(plan, row)];
	if (strncmp(row->what, "not rated ", 10) == 0)
		return not_rated(plan, find_part(plan, row));
	return plan->carried[find_part(plan, row)].nominal_n;
}

static void compare_name(const struct rv_plan *plan, const struct row *row)
{
	bool at_worst = strcmp(row->what, "weakest at worst") == 0;

	if (strcmp(row->what, "weakest") == 0 || at_worst)
		assert_string_equal(
		    plan->component[at_worst ? plan->weakest_worst : plan->weakest].name,
		    row->name);
}

static void compare(const struct rv_plan *plan, const struct row *row)
{
	char label[160];
	double half = 0.501 * pow(10.0, -row->places);

	snprintf(label, sizeof label, "%s, %s of %s %d", row->rig, row->what, row->name,
		 row->number);
	assert_near(label, value_of(plan, row), row->value, fmax(half, 1e-6 * fabs(row->value)));
	compare_name(plan, row);
	if (isnan(row->low))
		return;
	const struct rv_span *carried = &plan->carried[find_part(plan, row)];
	assert_near(label, carried->low_n, row->low, fmax(0.0501, 1e-6 * row->low));
	assert_near(label, carried->high_n, row->high, fmax(0.0501, 1e-6 * row->high));
}

static struct rv_plan *plan_of(const char *label)
{
	for (size_t i = 0; i < sizeof rigs / sizeof rigs[0]; i++)
		if (strcmp(rigs[i].label, label) == 0)
			return plan_case_make(rigs[i].text, NULL);
	print_error("no rig %s\n", label);
	fail();
	return NULL;
}

static void every_figure_is_that_of_the_prototype(void **state)
{
	char path[1024], line[300], last[32] = "";
	const char *folder = getenv("RV_TESTS_DATA");
	struct rv_plan *plan = NULL;
	struct row row;
	int rows = 0;

	(void)state;
	assert_non_null(folder);
	snprintf(path, sizeof path, "%s/solved_rigs.csv", folder);
	FILE *file = fopen(path, "r");
	assert_non_null(file);
	while (fgets(line, sizeof line, file)) {
		if (!read_row(line, &row))
			continue;
		if (strcmp(row.rig, last) != 0) {
			rv_plan_free(plan);
			plan = plan_of(row.rig);
			snprintf(last, sizeof last, "%s", row.rig);
		}
		compare(plan, &row);
		rows++;
	}
	rv_plan_free(plan);
	(void)fclose(file);
	assert_int_equal(rows, ROWS);
}

static struct rv_plan *without_loss(const struct rv_plan *plan)
{
	static struct rv_rig rig;
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	struct rv_plan *made = NULL;

	rig = plan->rig;
	for (int b = 0; b < rig.blocks; b++) {
		rig.block[b].efficiency = (struct rv_range){1.0, 1.0, 1.0};
		if (!isnan(rig.block[b].bar_friction))
			rig.block[b].bar_friction = 0.0;
	}
	assert_int_equal(rv_plan_new(&rig, &nothing, &made, NULL), RV_OK);
	return made;
}

/* Power in is power out and losses; without friction the advantage is the velocity ratio (virtual
 * work).  The rig that only hangs has no load to tell a speed. */
static void power_and_work_balance_in_each(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof rigs / sizeof rigs[0]; i++) {
		struct rv_plan *plan = plan_case_make(rigs[i].text, NULL);
		struct rv_plan *free_running = without_loss(plan);

		if (plan->rig.loads > 0) {
			double in = power(plan, "power in"), out = power(plan, "power out");
			assert_near(rigs[i].label, out + power(plan, "power lost"), in,
				    1e-10 * fabs(in));
			assert_near(rigs[i].label, free_running->advantage.expected_ratio,
				    free_running->velocity_ratio, 1e-10);
		}
		rv_plan_free(free_running);
		rv_plan_free(plan);
	}
}

/* Source: the same prototype, "hauling the other way" and "without friction". */
static void rigs_that_float_pay_out_and_are_true_without_friction(void **state)
{
	static const struct {
		const char *label, *rig;
		double out_n, frictionless_n;
	} cases[] = {
	    {"piggyback", RIG_PIGGYBACK, 9077.409, 10000.0},
	    {"burton 3", RIG_BURTON_3, 7200.0, 8000.0},
	    {"burton 4", RIG_BURTON_4, 5300.264, 6000.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		char text[4096];
		struct rv_plan *in = plan_case_make(cases[i].rig, NULL);

		snprintf(text, sizeof text, "haul: out\n%s", cases[i].rig);
		struct rv_plan *out = plan_case_make(text, NULL);
		assert_near(cases[i].label, out->winch[0].line_pull.nominal_n, cases[i].out_n,
			    0.00051);
		assert_near(cases[i].label, in->load[0].resists_n / in->advantage.theoretical_ratio,
			    cases[i].frictionless_n, 0.00051);
		rv_plan_free(in);
		rv_plan_free(out);
	}
}

/* Source: the same prototype's table of the piggyback's travel. */
static void the_piggyback_travels_until_its_block_meets_the_oak(void **state)
{
	struct rv_plan_request request = {.travel_m = 2.9};
	struct rv_plan *plan = plan_case_make(RIG_PIGGYBACK, &request);
	const struct rv_travel_row *last = &plan->travel.row[plan->travel.rows - 1];

	(void)state;
	assert_near("travel", last->travel_m, 2.9, 1e-9);
	assert_near("line in", last->line_in_m, 17.4, 5e-5);
	assert_near("velocity ratio", last->velocity_ratio, 6.0, 1e-6);
	assert_near("line pull", last->line_pull_n, 10970.20, 0.006);
	rv_plan_free(plan);
	request.travel_m = 50.0;
	plan = plan_case_make(RIG_PIGGYBACK, &request);
	last = &plan->travel.row[plan->travel.rows - 1];
	assert_int_equal(plan->travel.end, RV_TRAVEL_TWO_BLOCKED);
	assert_near("two-blocked", last->travel_m, 2.9, 1e-9);
	rv_plan_free(plan);
}

/* The equalising block hardly turns: the spans hold what either direction gives, and the direction
 * found stays for the nominal figures.  Ends by hand: the sling's two tensions change places. */
static void a_sheave_that_hardly_turns_spans_both_directions(void **state)
{
	struct rv_plan *plan = plan_case_make(RIG_SLING, NULL);
	int fir = plan_case_component(plan, "fir"), sling = plan_case_component(plan, "sling");

	(void)state;
	assert_near("the fir's high end is the sling's", plan->carried[fir].high_n,
		    plan->carried[sling].high_n, 1e-6);
	assert_true(plan->carried[fir].high_n > 1.05 * plan->carried[fir].nominal_n);
	assert_near("the ratio at the higher end", plan->carried[fir].low_n / 25399.8, 1.0, 1e-5);
	/* By hand: held without friction both its legs carry the same, and that is the least that
	 * the more loaded of them can carry. */
	assert_near("the sling's low end", plan->carried[sling].low_n, 27059.958, 0.01);
	rv_plan_free(plan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_figure_is_that_of_the_prototype),
	    cmocka_unit_test(power_and_work_balance_in_each),
	    cmocka_unit_test(rigs_that_float_pay_out_and_are_true_without_friction),
	    cmocka_unit_test(the_piggyback_travels_until_its_block_meets_the_oak),
	    cmocka_unit_test(a_sheave_that_hardly_turns_spans_both_directions),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
