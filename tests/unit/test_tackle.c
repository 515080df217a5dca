/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plans against published tables of tackle friction and of loads on blocks; the files say where
 * each was printed.
 */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/plan.h"
#include "tests/unit/rig_cases.h"

enum { COLUMNS = 5 };

/* Rows of numbers of a file under tests/data; comments and the head are passed over. */
static int next_row(FILE *file, double row[COLUMNS])
{
	char line[200];

	while (fgets(line, sizeof line, file)) {
		char *at = line, *end;
		int n = 0;

		while (n < COLUMNS) {
			row[n] = strtod(at, &end);
			if (end == at)
				break;
			n++;
			at = *end == ',' ? end + 1 : end;
		}
		if (n > 0)
			return n;
	}
	return 0;
}

static FILE *open_data(const char *name)
{
	char path[1024];
	const char *folder = getenv("RV_TESTS_DATA");

	assert_non_null(folder);
	snprintf(path, sizeof path, "%s/%s", folder, name);
	FILE *file = fopen(path, "r");
	assert_non_null(file);
	return file;
}

struct tackle {
	int parts;	/* at the moving block */
	int lead;	/* redirects between drum and tackle */
	bool from_load; /* the lead line leaves the moving block */
	double efficiency;
};

/* All legs of the tackle are parallel; the redirects stand anywhere. */
static void write_tackle(const struct tackle *tackle, struct rv_text *text)
{
	int sheaves = tackle->from_load ? tackle->parts - 1 : tackle->parts;
	double eta = tackle->efficiency;

	rv_text_add(
	    text, "points: {a: {at: [%d, 0]}, f: {at: [0, 0]}, m: {at: [100, 0], moves_with: load}",
	    tackle->from_load ? 0 : 30);
	for (int i = 0; i < tackle->lead; i++)
		rv_text_add(text, ", r%d: {at: [%d, %d]}", i, 20 - i, 5 + i);
	rv_text_add(text, "}\nloads: {load: {travels: [-1, 0], resists: 1 kN}}\nwinches: {drum: "
			  "{at: a}}\nblocks:\n");
	if (sheaves > 0 && !(tackle->from_load && sheaves < 2))
		rv_text_add(text, "  fixed: {at: f, sheaves: %d, efficiency: %.17g}\n",
			    (sheaves + 1) / 2, eta);
	if (tackle->parts > 1)
		rv_text_add(text, "  moving: {at: m, sheaves: %d, efficiency: %.17g}\n",
			    (sheaves + 1) / 2, eta);
	for (int i = 0; i < tackle->lead; i++)
		rv_text_add(text, "  lead%d: {at: r%d, efficiency: %.17g}\n", i, i, eta);
	rv_text_add(text, "lines: {wire: {path: [drum");
	for (int i = 0; i < tackle->lead; i++)
		rv_text_add(text, ", lead%d", i);
	for (int i = 0; i < sheaves; i++)
		rv_text_add(text, ", %s", (i % 2 == 0) == tackle->from_load ? "moving" : "fixed");
	rv_text_add(text, ", %s]}}\n", (sheaves % 2 == 0) == tackle->from_load ? "m" : "f");
}

static double load_over_pull(const struct tackle *tackle)
{
	static struct rv_rig rig;
	struct rv_text text = {0};
	struct rv_plan_request request = {.travel_m = (double)NAN};
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	write_tackle(tackle, &text);
	rig_case_read(text.data, &rig);
	rv_text_free(&text);
	if (rv_plan_new(&rig, &request, &plan, &error) != RV_OK) {
		print_error("%s: %s\n", error.tag, error.text);
		fail();
	}
	double ratio = plan->advantage.expected_ratio;
	assert_near("parts are the velocity ratio", plan->velocity_ratio, tackle->parts, 1e-9);
	rv_plan_free(plan);
	return ratio;
}

/* 1.045 and 1.02 reproduce the printed table (own finding). */
static void ratios_of_line_parts_are_those_of_the_handbook(void **state)
{
	FILE *file = open_data("line_parts_ratio.csv");
	double row[COLUMNS];
	int rows = 0;

	(void)state;
	while (next_row(file, row) == 3) {
		int parts = (int)row[0];
		double tolerance = parts <= 12 ? 0.0101 : 0.055;
		struct tackle bronze = {parts, 0, false, 1.0 / 1.045};
		struct tackle rolling = {parts, 0, false, 1.0 / 1.02};

		/* 10.6 at 12 parts is printed to one place */
		assert_near("bronze", load_over_pull(&bronze), row[1], tolerance);
		assert_near("anti-friction", load_over_pull(&rolling), row[2],
			    parts == 12 ? 0.055 : tolerance);
		rows++;
	}
	fclose(file);
	assert_int_equal(rows, 22);
}

static void lead_line_factors_are_those_of_the_manuals(void **state)
{
	FILE *file = open_data("fast_line_factor.csv");
	double row[COLUMNS];
	int rows = 0;

	(void)state;
	while (next_row(file, row) >= 4) {
		struct tackle tackle = {(int)row[0], (int)(row[1] - row[0]), false, 1.0 / row[2]};

		assert_near("lead line over load", 1.0 / load_over_pull(&tackle), row[3],
			    rows < 3 ? 5.1e-4 : 5.1e-5);
		rows++;
	}
	fclose(file);
	assert_int_equal(rows, 16);
}

static void reeving_efficiencies_are_those_of_the_crane_standards(void **state)
{
	FILE *file = open_data("reeving_efficiency.csv");
	double row[COLUMNS];
	int rows = 0;

	(void)state;
	while (next_row(file, row) == 3) {
		struct tackle tackle = {(int)row[0], 0, true, row[1]};

		assert_near("efficiency", load_over_pull(&tackle) / row[0], row[2], 5.1e-5);
		rows++;
	}
	fclose(file);
	assert_int_equal(rows, 15);
}

/* Derived: a geometric series, (1 - eta^n) / (1 - eta), times eta for each sheave before it. */
static void closed_forms_hold_to_rounding(void **state)
{
	(void)state;
	for (int parts = 2; parts <= 10; parts++)
		for (double eta = 0.90; eta < 0.995; eta += 0.02) {
			struct tackle tackle = {parts, 0, true, eta};
			double series = (1.0 - pow(eta, parts)) / (1.0 - eta);

			assert_near("off the load", load_over_pull(&tackle), series, 1e-12);
			tackle.from_load = false;
			assert_near("off the anchor", load_over_pull(&tackle), series * eta, 1e-12);
			tackle.lead = 2;
			assert_near("two redirects", load_over_pull(&tackle), series * pow(eta, 3),
				    1e-12);
		}
}

/* Pipeline Rules of Thumb Handbook p. 6: 4 parts, 0.917 a sheave, prints 3.25; exact is 3.236. */
static void the_handbook_s_worked_example_is_met(void **state)
{
	struct tackle tackle = {4, 0, false, 0.917};

	(void)state;
	assert_near("exact", load_over_pull(&tackle), 3.236, 5.1e-4);
	assert_near("as printed", load_over_pull(&tackle), 3.25, 0.005 * 3.25);
}

static void loads_on_blocks_follow_the_printed_angle_factors(void **state)
{
	FILE *file = open_data("block_angle_factor.csv");
	double row[COLUMNS];
	int rows = 0;

	(void)state;
	while (next_row(file, row) == 2) {
		static struct rv_rig rig;
		double c = cos(row[0] * M_PI / 180.0), s = sin(row[0] * M_PI / 180.0);
		struct rv_plan_request request = {.travel_m = (double)NAN};
		struct rv_plan *plan = NULL;
		struct rv_text text = {0};
		struct rv_error error;

		rv_text_add(&text,
			    "points: {a: {at: [10, 0]}, o: {at: [0, 0]}, e: {at: [%.17g, %.17g], "
			    "moves_with: l}}\n"
			    "loads: {l: {travels: [%.17g, %.17g], resists: 1 kN}}\n"
			    "winches: {drum: {at: a}}\nblocks: {b: {at: o, efficiency: 1}}\n"
			    "lines: {wire: {path: [drum, b, e]}}\ncells: {pin: {holds: b}}\n",
			    20 * c, 20 * s, -c, -s);
		rig_case_read(text.data, &rig);
		rv_text_free(&text);
		assert_int_equal(rv_plan_new(&rig, &request, &plan, &error), RV_OK);
		assert_near("printed", plan->cell[0].nominal_n / 1000.0, row[1], 0.01);
		assert_near("2 cos(half)", plan->cell[0].nominal_n / 1000.0,
			    2.0 * cos(row[0] * M_PI / 360.0), 1e-9);
		rv_plan_free(plan);
		rows++;
	}
	fclose(file);
	assert_int_equal(rows, 20);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(ratios_of_line_parts_are_those_of_the_handbook),
	    cmocka_unit_test(lead_line_factors_are_those_of_the_manuals),
	    cmocka_unit_test(reeving_efficiencies_are_those_of_the_crane_standards),
	    cmocka_unit_test(closed_forms_hold_to_rounding),
	    cmocka_unit_test(the_handbook_s_worked_example_is_met),
	    cmocka_unit_test(loads_on_blocks_follow_the_printed_angle_factors),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
