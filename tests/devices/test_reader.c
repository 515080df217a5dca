/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reader thread: what the engine is told when a device comes, goes, and comes back.
 */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/intake.h"
#include "daemon/reader.h"
#include "tests/fakes/fake_unit.h"

enum { UNIT = 5 };
static const int64_t PATIENCE_NS = 20000000000;

static struct rv_station *station_for(const struct fake_unit *fake, const char *path, int channels)
{
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = 1;
	station.device[0] = (struct rv_device){
	    .name = "cells",
	    .link = fake->is_tcp ? RV_LINK_MODBUS_TCP : RV_LINK_MODBUS_RTU,
	    .address = "127.0.0.1",
	    .port = fake->port,
	    .speed_baud = 115200,
	    .data_bits = 8,
	    .parity = 'N',
	    .stop_bits = 1,
	    .unit = UNIT,
	    .every_s = 0.005,
	    .timeout_s = 0.1,
	};
	strcpy(station.device[0].path, path);
	station.channels = channels;
	for (int i = 0; i < channels; i++)
		station.channel[i] = (struct rv_channel){
		    .source = {RV_REGISTER_INPUT, 2 * i, -1},
		    .type = RV_UINT32,
		    .updates_hz = (double)NAN,
		};
	return &station;
}

/* Takes until one of that kind comes; counts what was lost on the way. */
static struct rv_intake await(struct rv_ring *ring, enum rv_intake_kind kind, int *lost)
{
	int64_t end_ns = rv_clock_mono_ns() + PATIENCE_NS;
	struct rv_intake intake;

	while (rv_ring_take(ring, &intake, 1, end_ns) == 1) {
		if (intake.kind == kind)
			return intake;
		if (intake.kind == RV_INTAKE_LOST && lost)
			*lost += intake.missed;
	}
	fail_msg("nothing of kind %d came", (int)kind);
	return intake;
}

static struct rv_ring *new_ring(size_t room)
{
	struct rv_ring *ring;

	assert_int_equal(rv_ring_new(sizeof(struct rv_intake), room, &ring), RV_OK);
	return ring;
}

static void a_silent_device_is_closed_once_and_opened_when_it_answers(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true, .fault_ratio = 1.0};
	struct rv_ring *ring = new_ring(4096);
	struct rv_reader *reader;
	struct rv_intake intake;
	int lost = 0;

	(void)state;
	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	assert_int_equal(rv_reader_start(station_for(&fake, fake.path, 2), 0, ring, &reader, NULL),
			 RV_OK);
	/* The first thing told is that it answers; the message comes after. */
	assert_int_equal(rv_ring_take(ring, &intake, 1, rv_clock_mono_ns() + PATIENCE_NS), 1);
	while (intake.kind == RV_INTAKE_LOST)
		assert_int_equal(rv_ring_take(ring, &intake, 1, rv_clock_mono_ns() + PATIENCE_NS),
				 1);
	assert_int_equal(intake.kind, RV_INTAKE_OPENED);
	await(ring, RV_INTAKE_MESSAGE, NULL);
	atomic_store(&fake.fault, FAKE_SILENT);
	intake = await(ring, RV_INTAKE_CLOSED, &lost);
	assert_int_equal(intake.fault, RV_FAULT_TIMEOUT);
	assert_true(lost > 0);
	/* Not told again while it stays silent. */
	int64_t end_ns = rv_clock_mono_ns() + 500000000;
	while (rv_ring_take(ring, &intake, 1, end_ns) == 1)
		assert_int_equal(intake.kind, RV_INTAKE_LOST);
	atomic_store(&fake.fault, FAKE_NONE);
	await(ring, RV_INTAKE_OPENED, NULL);
	await(ring, RV_INTAKE_MESSAGE, NULL);
	rv_reader_stop(reader);
	fake_unit_stop(&fake);
	rv_ring_free(ring);
}

static void a_replugged_adapter_is_found_by_its_lasting_name(void **state)
{
	struct fake_unit first = {.unit = UNIT, .answers_others = true};
	struct fake_unit second = {.unit = UNIT, .answers_others = true};
	struct rv_ring *ring = new_ring(4096);
	struct rv_reader *reader;
	char name[] = "/tmp/reeve-test-XXXXXX", link[64];

	(void)state;
	assert_non_null(mkdtemp(name));
	snprintf(link, sizeof link, "%s/adapter", name);
	assert_int_equal(rv_reader_start(station_for(&first, link, 2), 0, ring, &reader, NULL),
			 RV_OK);
	struct rv_intake intake = await(ring, RV_INTAKE_CLOSED, NULL);
	assert_int_equal(intake.fault, RV_FAULT_UNREACHABLE);
	assert_non_null(strstr(intake.text, "no such port"));

	assert_int_equal(fake_unit_start_rtu(&first), 0);
	assert_int_equal(symlink(first.path, link), 0);
	await(ring, RV_INTAKE_MESSAGE, NULL);
	/* A number of its own: held so that the second one cannot get the first one's. */
	assert_int_equal(fake_unit_start_rtu(&second), 0);
	assert_string_not_equal(first.path, second.path);
	fake_unit_stop(&first);
	unlink(link);
	intake = await(ring, RV_INTAKE_CLOSED, NULL);
	assert_int_equal(intake.fault, RV_FAULT_UNPLUGGED);
	assert_int_equal(symlink(second.path, link), 0);
	await(ring, RV_INTAKE_OPENED, NULL);
	await(ring, RV_INTAKE_MESSAGE, NULL);
	rv_reader_stop(reader);
	fake_unit_stop(&second);
	rv_ring_free(ring);
	unlink(link);
	rmdir(name);
}

static void a_refused_address_is_told_and_tried_again(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true};
	struct fake_unit nobody = {.is_tcp = true, .port = 1};
	struct rv_ring *ring = new_ring(4096);
	struct rv_reader *reader;

	(void)state;
	struct rv_station *station = station_for(&nobody, "", 2);
	assert_int_equal(rv_reader_start(station, 0, ring, &reader, NULL), RV_OK);
	struct rv_intake intake = await(ring, RV_INTAKE_CLOSED, NULL);
	assert_int_equal(intake.fault, RV_FAULT_UNREACHABLE);
	assert_non_null(strstr(intake.text, "refused"));
	rv_reader_stop(reader);

	/* Connected, but never answered. */
	fake.fault_ratio = 1.0;
	fake.fault = FAKE_SILENT;
	assert_int_equal(fake_unit_start_tcp(&fake), 0);
	station = station_for(&fake, "", 2);
	assert_int_equal(rv_reader_start(station, 0, ring, &reader, NULL), RV_OK);
	intake = await(ring, RV_INTAKE_CLOSED, NULL);
	assert_int_equal(intake.fault, RV_FAULT_TIMEOUT);
	rv_reader_stop(reader);
	fake_unit_stop(&fake);
	rv_ring_free(ring);
}

static void many_channels_come_in_parts_of_one_time(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true};
	struct rv_ring *ring = new_ring(4096);
	struct rv_reader *reader;
	struct rv_intake part[3];

	(void)state;
	assert_int_equal(fake_unit_start_tcp(&fake), 0);
	assert_int_equal(rv_reader_start(station_for(&fake, "", 40), 0, ring, &reader, NULL),
			 RV_OK);
	for (int i = 0; i < 3; i++)
		part[i] = await(ring, RV_INTAKE_MESSAGE, NULL);
	for (int i = 0; i < 3; i++) {
		assert_int_equal(part[i].message.part, i);
		assert_int_equal(part[i].message.count, i < 2 ? 16 : 8);
		assert_true(part[i].message.mono_ns == part[0].message.mono_ns);
		for (int k = 0; k < part[i].message.count; k++)
			assert_int_equal(part[i].message.values[k].raw.count >> 16,
					 2 * (16 * i + k) + 1);
	}
	rv_reader_stop(reader);
	fake_unit_stop(&fake);
	rv_ring_free(ring);
}

static void what_a_full_ring_refused_is_told_when_there_is_room(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true};
	struct rv_ring *ring = new_ring(2);
	struct rv_reader *reader;
	struct rv_intake intake;
	bool told = false;

	(void)state;
	assert_int_equal(fake_unit_start_tcp(&fake), 0);
	assert_int_equal(rv_reader_start(station_for(&fake, "", 2), 0, ring, &reader, NULL), RV_OK);
	while (rv_ring_dropped(ring) < 5)
		rv_clock_sleep_until(rv_clock_mono_ns() + 5000000);
	int64_t end_ns = rv_clock_mono_ns() + PATIENCE_NS;
	while (!told && rv_ring_take(ring, &intake, 1, end_ns) == 1)
		told = intake.kind == RV_INTAKE_LOST && intake.fault == RV_FAULT_OVERFLOW &&
		       intake.missed >= 1;
	assert_true(told);
	rv_reader_stop(reader);
	fake_unit_stop(&fake);
	rv_ring_free(ring);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_silent_device_is_closed_once_and_opened_when_it_answers),
	    cmocka_unit_test(a_replugged_adapter_is_found_by_its_lasting_name),
	    cmocka_unit_test(a_refused_address_is_told_and_tried_again),
	    cmocka_unit_test(many_channels_come_in_parts_of_one_time),
	    cmocka_unit_test(what_a_full_ring_refused_is_told_when_there_is_room),
	};

	if (argc > 1)
		cmocka_set_test_filter(argv[1]);
	return cmocka_run_group_tests_name("reader", tests, NULL, NULL);
}
