/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes wrong on a Modbus wire is told by its name, and nothing wrong becomes a value.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "daemon/clock.h"
#include "daemon/source.h"
#include "tests/fakes/fake_unit.h"

enum { UNIT = 9, MESSAGES = 25 };

struct seen {
	struct fake_unit *fake;
	int messages, wrong;
	int missed[RV_FAULTS];
	char text[RV_FAULTS][120];
	struct rv_value last[2];
};

static struct rv_station *station_for(const struct fake_unit *fake, const char *path)
{
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = 1;
	struct rv_device *device = &station.device[0];
	*device = (struct rv_device){
	    .name = "cells",
	    .link = fake->is_tcp ? RV_LINK_MODBUS_TCP : RV_LINK_MODBUS_RTU,
	    .address = "127.0.0.1",
	    .port = fake->port,
	    .speed_baud = 115200,
	    .data_bits = 8,
	    .parity = 'N',
	    .stop_bits = 1,
	    .unit = UNIT,
	    .every_s = 0.002,
	    .timeout_s = 0.02,
	};
	strcpy(device->path, path);
	station.channels = 2;
	for (int i = 0; i < 2; i++)
		station.channel[i] = (struct rv_channel){
		    .source = {RV_REGISTER_HOLDING, 2 * i, -1},
		    .type = RV_UINT32,
		    .updates_hz = (double)NAN,
		};
	return &station;
}

static void take(void *to, const struct rv_intake *intake)
{
	struct seen *seen = to;

	if (intake->kind == RV_INTAKE_LOST) {
		seen->missed[intake->fault] += intake->missed;
		strcpy(seen->text[intake->fault], intake->text);
	}
	if (intake->kind != RV_INTAKE_MESSAGE)
		return;
	seen->messages++;
	for (int i = 0; i < intake->message.count && i < 2; i++) {
		const struct rv_value *value = &intake->message.values[i];
		int64_t want =
		    (int64_t)(2 * i + 1) << 16 | (atomic_load(&seen->fake->received) & 0xffff);
		seen->last[i] = *value;
		seen->wrong += value->quality == RV_GOOD && value->raw.count != want;
	}
}

static struct rv_source *open_source(const struct rv_station *station, struct seen *seen)
{
	struct rv_source *source;
	struct rv_error error;
	enum rv_fault fault;

	assert_int_equal(rv_source_new(station, 0, take, seen, &source, &error), RV_OK);
	assert_int_equal(source->type->open(source, &fault, &error), RV_OK);
	return source;
}

static void free_source(struct rv_source *source)
{
	source->type->close(source);
	source->type->free(source);
}

/* A connection may be refused while the unit is held up with an older one. */
static void go_on(const char *label, bool may_close, struct rv_source *source)
{
	struct rv_error error;
	enum rv_fault fault;

	if (source->type->next(source, &error) != RV_ERR_CLOSED)
		return;
	if (!may_close)
		fail_msg("%s: gave up: %s", label, error.text);
	source->type->close(source);
	while (source->type->open(source, &fault, &error) != RV_OK)
		rv_clock_sleep_until(rv_clock_mono_ns() + 10000000);
}

static void every_fault_is_told_by_its_name_and_survived(void **state)
{
	static const struct {
		const char *label;
		bool tcp;
		enum fake_fault fault;
		enum rv_fault told;
	} cases[] = {
	    {"RTU silent", false, FAKE_SILENT, RV_FAULT_TIMEOUT},
	    {"RTU checksum", false, FAKE_BAD_CRC, RV_FAULT_CHECKSUM},
	    {"RTU half an answer", false, FAKE_HALF, RV_FAULT_TIMEOUT},
	    {"RTU noise before it", false, FAKE_GARBAGE, RV_FAULT_CHECKSUM},
	    {"RTU another unit", false, FAKE_WRONG_UNIT, RV_FAULT_GARBLED},
	    {"RTU another length", false, FAKE_WRONG_COUNT, RV_FAULT_GARBLED},
	    {"RTU answered twice", false, FAKE_TWICE, RV_FAULT_GARBLED},
	    {"RTU exception", false, FAKE_BUSY, RV_FAULT_EXCEPTION},
	    {"RTU trickle", false, FAKE_TRICKLE, RV_FAULT_TIMEOUT},
	    {"TCP silent", true, FAKE_SILENT, RV_FAULT_TIMEOUT},
	    {"TCP half an answer", true, FAKE_HALF, RV_FAULT_TIMEOUT},
	    {"TCP noise before it", true, FAKE_GARBAGE, RV_FAULT_TIMEOUT},
	    {"TCP another length", true, FAKE_WRONG_COUNT, RV_FAULT_GARBLED},
	    {"TCP answered twice", true, FAKE_TWICE, RV_FAULT_GARBLED},
	    {"TCP exception", true, FAKE_BUSY, RV_FAULT_EXCEPTION},
	    {"TCP trickle", true, FAKE_TRICKLE, RV_FAULT_TIMEOUT},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct fake_unit fake = {.unit = UNIT,
					 .answers_others = true,
					 .fault_ratio = 0.2,
					 .fault = cases[i].fault,
					 .trickle_ns = 20000000,
					 .seed = 100 + i};
		struct seen seen = {.fake = &fake};
		assert_int_equal(
		    cases[i].tcp ? fake_unit_start_tcp(&fake) : fake_unit_start_rtu(&fake), 0);
		struct rv_source *source = open_source(station_for(&fake, fake.path), &seen);
		while (seen.messages < MESSAGES ||
		       (seen.missed[cases[i].told] == 0 && seen.messages < 40 * MESSAGES))
			go_on(cases[i].label, cases[i].tcp, source);
		free_source(source);
		fake_unit_stop(&fake);
		print_message("%s: %d good, %d told\n", cases[i].label, seen.messages,
			      seen.missed[cases[i].told]);
		assert_true(seen.missed[cases[i].told] > 0);
		if (seen.wrong > 0)
			fail_msg("%s: %d wrong values", cases[i].label, seen.wrong);
	}
}

static void a_connection_that_is_closed_is_told_as_gone(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true, .fault_ratio = 1.0};
	struct seen seen = {.fake = &fake};
	struct rv_error error;
	enum rv_fault fault;
	enum rv_err err = RV_OK;

	(void)state;
	assert_int_equal(fake_unit_start_tcp(&fake), 0);
	struct rv_source *source = open_source(station_for(&fake, ""), &seen);
	while (seen.messages < 3)
		(void)!source->type->next(source, &error);
	atomic_store(&fake.fault, FAKE_HANG_UP);
	while (err != RV_ERR_CLOSED)
		err = source->type->next(source, &error);
	assert_non_null(strstr(error.text, "closed the connection"));
	source->type->close(source);
	atomic_store(&fake.fault, FAKE_NONE);
	assert_int_equal(source->type->open(source, &fault, &error), RV_OK);
	for (int before = seen.messages; seen.messages < before + 3;)
		assert_int_not_equal(source->type->next(source, &error), RV_ERR_CLOSED);
	free_source(source);
	fake_unit_stop(&fake);
	assert_int_equal(seen.wrong, 0);
	/* The slots that passed meanwhile are told. */
	assert_true(seen.missed[RV_FAULT_UNPLUGGED] > 0);
}

/* Some units refuse to read registers they do not have: after the first refusal only declared
 * registers are read, and what was good before is read as well. */
static void undeclared_registers_are_left_alone_when_refused(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true, .highest = 21};
	struct seen seen = {.fake = &fake};
	struct rv_error error;

	(void)state;
	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	struct rv_station *station = station_for(&fake, fake.path);
	/* Two blocks of two registers; to tell them apart the second would be read up to 22. */
	station->channel[1].source.address = 20;
	struct rv_source *source = open_source(station, &seen);
	while (seen.messages < 4)
		assert_int_not_equal(source->type->next(source, &error), RV_ERR_CLOSED);
	free_source(source);
	fake_unit_stop(&fake);
	assert_int_equal(seen.last[1].quality, RV_GOOD);
	assert_int_equal(seen.last[1].raw.count >> 16, 21);
	assert_string_equal(seen.text[RV_FAULT_EXCEPTION],
			    "the unit answers: Illegal data address");
}

/* One block that is refused for good costs its own channels, not the others. */
static void a_refused_block_does_not_hide_the_others(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true, .highest = 9};
	struct seen seen = {.fake = &fake};
	struct rv_error error;

	(void)state;
	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	struct rv_station *station = station_for(&fake, fake.path);
	station->channel[1].source.address = 20;
	struct rv_source *source = open_source(station, &seen);
	while (seen.messages < 4)
		assert_int_not_equal(source->type->next(source, &error), RV_ERR_CLOSED);
	free_source(source);
	fake_unit_stop(&fake);
	assert_int_equal(seen.last[0].quality, RV_GOOD);
	assert_int_equal(seen.last[1].quality, RV_BAD);
	assert_int_equal(seen.last[1].cause, RV_CAUSE_NO_COMMUNICATION);
	assert_int_equal(seen.missed[RV_FAULT_EXCEPTION], 0);
}

/* No probe of its own: a unit with one register that is silent to every other function. */
static void a_unit_that_answers_no_probe_is_read_all_the_same(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .function = 3, .single = true, .highest = 1};
	struct seen seen = {.fake = &fake};
	struct rv_error error;

	(void)state;
	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	struct rv_station *station = station_for(&fake, fake.path);
	station->channels = 1;
	station->channel[0].source.address = 1;
	station->channel[0].type = RV_UINT16;
	struct rv_source *source = open_source(station, &seen);
	while (seen.messages < 4)
		assert_int_not_equal(source->type->next(source, &error), RV_ERR_CLOSED);
	free_source(source);
	fake_unit_stop(&fake);
	assert_int_equal(seen.last[0].raw.count, atomic_load(&fake.received));
}

static void what_cannot_be_opened_says_what_to_do(void **state)
{
	struct fake_unit fake = {.unit = UNIT, .answers_others = true};
	struct fake_unit closed = {.is_tcp = true, .port = 1};
	struct seen seen = {.fake = &fake};
	struct rv_source *source, *second;
	struct rv_error error;
	enum rv_fault fault;

	(void)state;
	assert_int_equal(rv_source_new(station_for(&fake, "/dev/serial/by-id/none"), 0, take, &seen,
				       &source, &error),
			 RV_OK);
	assert_int_not_equal(source->type->open(source, &fault, &error), RV_OK);
	assert_int_equal(fault, RV_FAULT_UNREACHABLE);
	assert_non_null(strstr(error.text, "no such port; plug the adapter in"));
	source->type->free(source);

	assert_int_equal(
	    rv_source_new(station_for(&fake, "/dev/null"), 0, take, &seen, &source, &error), RV_OK);
	assert_int_equal(source->type->open(source, &fault, &error), RV_ERR_REFUSED);
	assert_non_null(strstr(error.text, "not a serial port"));
	source->type->free(source);

	assert_int_equal(rv_source_new(station_for(&closed, ""), 0, take, &seen, &source, &error),
			 RV_OK);
	assert_int_not_equal(source->type->open(source, &fault, &error), RV_OK);
	assert_int_equal(fault, RV_FAULT_UNREACHABLE);
	assert_non_null(strstr(error.text, "127.0.0.1 port 1: refused"));
	source->type->free(source);

	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	source = open_source(station_for(&fake, fake.path), &seen);
	assert_int_equal(
	    rv_source_new(station_for(&fake, fake.path), 0, take, &seen, &second, &error), RV_OK);
	assert_int_equal(second->type->open(second, &fault, &error), RV_ERR_BUSY);
	assert_int_equal(fault, RV_FAULT_BUSY);
	assert_non_null(strstr(error.text, "held by another program"));
	second->type->free(second);
	free_source(source);
	fake_unit_stop(&fake);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_fault_is_told_by_its_name_and_survived),
	    cmocka_unit_test(a_connection_that_is_closed_is_told_as_gone),
	    cmocka_unit_test(undeclared_registers_are_left_alone_when_refused),
	    cmocka_unit_test(a_refused_block_does_not_hide_the_others),
	    cmocka_unit_test(a_unit_that_answers_no_probe_is_read_all_the_same),
	    cmocka_unit_test(what_cannot_be_opened_says_what_to_do),
	};

	if (argc > 1)
		cmocka_set_test_filter(argv[1]);
	return cmocka_run_group_tests_name("faults", tests, NULL, NULL);
}
