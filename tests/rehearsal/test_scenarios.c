/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every scenario that is shipped: can it be read, and do its three files speak of the same thing?
 * The truth in scenario.yaml and the declaration in rig.yaml are worked out by two codes that share
 * no formula, so each checks the other.
 */
#include <dirent.h>
#include <stdlib.h>
#include <string.h>

#include "core/predict.h"
#include "core/rig_read.h"
#include "core/station_check.h"
#include "core/station_read.h"
#include "tests/rvtest.h"
#include "tools/rehearse_plant.h"
#include "tools/rehearse_scenario.h"

struct shipped {
	struct rv_rehearse_scenario scenario;
	struct rv_station station;
	struct rv_rig rig;
};

static size_t load(const char *name, const char *file, char *text, size_t size)
{
	char path[1024];

	snprintf(path, sizeof path, "%s/%s/%s", getenv("SCENARIOS"), name, file);
	FILE *from = fopen(path, "r");
	if (!from)
		fail_msg("%s cannot be opened", path);
	size_t len = fread(text, 1, size, from);
	fclose(from);
	return len;
}

static void must(enum rv_err err, const char *name, const char *file, const struct rv_error *error)
{
	if (err != RV_OK)
		fail_msg("%s/%s:%d:%d: %s", name, file, error->line, error->column, error->text);
}

static void read_shipped(const char *name, struct shipped *all)
{
	static char text[1 << 16];
	const struct rv_station_outside outside = {0};
	struct rv_error error = {0};

	size_t len = load(name, "scenario.yaml", text, sizeof text);
	must(rv_rehearse_scenario_read(text, len, &all->scenario, &error), name, "scenario.yaml",
	     &error);
	len = load(name, "station.yaml", text, sizeof text);
	must(rv_station_read(text, len, &outside, &all->station, &error), name, "station.yaml",
	     &error);
	len = load(name, "rig.yaml", text, sizeof text);
	must(rv_rig_read(text, len, &all->rig, &error), name, "rig.yaml", &error);
	must(rv_station_check_rig(&all->station, &all->rig, &error), name, "station.yaml", &error);
	must(rv_station_check_alarms(&all->station, &all->rig, &error), name, "station.yaml",
	     &error);
}

static const struct rv_rehearse_instrument *find_instrument(const struct shipped *all,
							    const char *name)
{
	for (int i = 0; i < all->scenario.instruments; i++)
		if (strcmp(all->scenario.instrument[i].name, name) == 0)
			return &all->scenario.instrument[i];
	fail_msg("the scenario plays no \"%s\"", name);
	return NULL;
}

static void check_device(const struct shipped *all, const struct rv_device *device)
{
	const struct rv_rehearse_instrument *played = find_instrument(all, device->name);
	char wire[RV_PATH_SIZE];

	snprintf(wire, sizeof wire, "wires/%s", played->wire);
	if (device->link == RV_LINK_MODBUS_TCP)
		assert_int_equal(played->port, device->port);
	else
		assert_string_equal(wire, device->path);
	if (device->link != RV_LINK_SERIAL_TEXT)
		assert_int_equal(played->unit, device->unit);
	else
		assert_string_equal(played->ask, device->ask);
}

/* The register a channel reads is played, as the same kind of number, and shows the cell the
 * channel names. */
static void check_channel(const struct shipped *all, const struct rv_channel *channel)
{
	static const enum rv_rehearse_space spaces[] = {
	    [RV_REGISTER_INPUT] = RV_REHEARSE_INPUT,
	    [RV_REGISTER_HOLDING] = RV_REHEARSE_HOLDING,
	    [RV_REGISTER_DISCRETE] = RV_REHEARSE_DISCRETE,
	    [RV_REGISTER_COIL] = RV_REHEARSE_COIL,
	};
	const struct rv_device *device = &all->station.device[channel->device];
	const struct rv_rehearse_instrument *played = find_instrument(all, device->name);

	if (device->link == RV_LINK_SERIAL_TEXT)
		return;
	for (int i = 0; i < played->fields; i++) {
		const struct rv_rehearse_field *field = &played->field[i];
		if (field->space != spaces[channel->source.space] ||
		    field->address != channel->source.address)
			continue;
		assert_int_equal((int)field->type, (int)channel->type);
		assert_int_equal((int)field->order, (int)channel->order);
		if (channel->cell[0])
			assert_string_equal(all->scenario.cell[field->cell].name, channel->cell);
		return;
	}
	fail_msg("channel \"%s\" reads a register that is not played", channel->name);
}

/* Hauling steadily, what each cell truly carries lies between the bounds that the declared rig
 * gives from the lead cell; 1 % for the varying of the sheaves. */
static void check_loads(const struct shipped *all)
{
	static struct rv_rehearse_plant plant;
	static struct rv_loads loads;
	const struct rv_rehearse_scenario *s = &all->scenario;
	struct rv_rehearse_drive drive = {.speed_mps = -0.2, .winch_turns = true, .load_factor = 1};
	struct rv_predictor *predictor = NULL;
	struct rv_error error = {0};

	rv_rehearse_plant_init(&plant, s);
	for (double t = 0; t < 10; t += s->step_s)
		rv_rehearse_plant_step(&plant, drive, s->step_s);
	if (rv_predictor_new(&all->rig, &predictor, &error) != RV_OK)
		fail_msg("%s: %s", s->name, error.text);
	int lead = rv_rig_find_cell(&all->rig, "lead");
	assert_true(lead >= 0);
	assert_int_equal(
	    rv_predictor_loads(predictor, lead, plant.tension_n[0], RV_MOTION_IN, &loads), RV_OK);
	for (int i = 0; i < s->cells; i++) {
		double true_n = 0;
		for (int k = 0; k < s->line.legs; k++)
			true_n += s->cell[i].leg[k] ? plant.tension_n[k] : 0;
		int cell = rv_rig_find_cell(&all->rig, s->cell[i].name);
		assert_true(cell >= 0);
		const struct rv_span *span = &loads.cell[cell];
		if (true_n < 0.99 * span->low_n || true_n > 1.01 * span->high_n)
			fail_msg("%s, cell %s: carries %.0f N, declared %.0f to %.0f N", s->name,
				 s->cell[i].name, true_n, span->low_n, span->high_n);
	}
	rv_predictor_free(predictor);
}

static void check_scenario(const char *name)
{
	static struct shipped all;

	print_message("%s\n", name);
	read_shipped(name, &all);
	assert_string_equal(all.scenario.name, name);
	assert_true(all.station.rehearsal);
	for (int i = 0; i < all.station.devices; i++)
		check_device(&all, &all.station.device[i]);
	for (int i = 0; i < all.station.channels; i++)
		check_channel(&all, &all.station.channel[i]);
	check_loads(&all);
}

static void every_shipped_scenario_agrees_with_its_station_and_rig(void **state)
{
	DIR *directory = opendir(getenv("SCENARIOS"));
	const struct dirent *entry;
	int count = 0;

	(void)state;
	assert_non_null(directory);
	while ((entry = readdir(directory)) != NULL) {
		if (entry->d_name[0] == '.')
			continue;
		check_scenario(entry->d_name);
		count++;
	}
	closedir(directory);
	assert_true(count >= 6);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_shipped_scenario_agrees_with_its_station_and_rig),
	};

	if (!getenv("SCENARIOS")) {
		fprintf(stderr, "SCENARIOS must name the directory of the scenarios\n");
		return 2;
	}
	return cmocka_run_group_tests(tests, NULL, NULL);
}
