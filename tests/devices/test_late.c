/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A late answer may cost readings, never bring a wrong value.  One answer in twenty comes late, by
 * up to three times the time-out; every delivered value must be that of the very question asked for
 * it.  RV_POLLS sets the number of polls of each case (400 by default);
 * a pattern as argument picks cases by name.
 */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/modbus_wire.h"
#include "daemon/source.h"
#include "tests/fakes/fake_unit.h"

enum { UNIT = 3, DEFAULT_POLLS = 400 };
static const int64_t TIMEOUT_NS = 10000000;

struct tally {
	struct fake_unit *fake;
	const struct rv_station *station;
	int requests; /* questions in one poll */
	int64_t delivered, wrong, polls;
	int64_t missed[RV_FAULTS];
};

static int polls_wanted(void)
{
	const char *text = getenv("RV_POLLS");

	return text ? (int)strtol(text, NULL, 10) : DEFAULT_POLLS;
}

static struct rv_station *station_for(const struct fake_unit *fake, bool single)
{
	static const int addresses[] = {0, 2, 40};
	static struct rv_station station;

	memset(&station, 0, sizeof station);
	station.devices = 1;
	struct rv_device *device = &station.device[0];
	strcpy(device->name, "cells");
	device->link = fake->is_tcp ? RV_LINK_MODBUS_TCP : RV_LINK_MODBUS_RTU;
	strcpy(device->address, "127.0.0.1");
	device->port = fake->port;
	strcpy(device->path, fake->path);
	device->speed_baud = 115200;
	device->data_bits = 8;
	device->parity = 'N';
	device->stop_bits = 1;
	device->unit = UNIT;
	device->every_s = 0.0005;
	device->timeout_s = (double)TIMEOUT_NS / 1e9;
	station.channels = single ? 1 : 3;
	for (int i = 0; i < station.channels; i++) {
		struct rv_channel *channel = &station.channel[i];
		channel->source =
		    (struct rv_register){RV_REGISTER_INPUT, single ? 7 : addresses[i], -1};
		channel->type = single ? RV_UINT16 : RV_UINT32;
		channel->updates_hz = (double)NAN;
	}
	return &station;
}

/* The value that the question of that number brings. */
static int64_t value_of(const struct rv_channel *channel, unsigned int number)
{
	int64_t low = number & 0xffff;

	return channel->type == RV_UINT32 ? (int64_t)(channel->source.address + 1) << 16 | low
					  : low;
}

/* The unit answers in order, so when a message is here the last question it received is the last
 * one of the poll; the two channels of the first block were asked in the one before.  Only when the
 * second block was not answered the unit may not even have received its question. */
static void judge(struct tally *tally, const struct rv_message *message)
{
	unsigned int last = atomic_load(&tally->fake->received);
	bool is_pair = tally->requests == 2;
	bool is_half = is_pair && message->values[2].raw.kind != RV_RAW_INT;
	bool is_wrong = false;

	for (int i = 0; i < message->count; i++) {
		const struct rv_channel *channel = &tally->station->channel[i];
		int64_t got = message->values[i].raw.count;
		if (message->values[i].raw.kind != RV_RAW_INT)
			continue;
		unsigned int number = last - (is_pair && i < 2);
		if (got != value_of(channel, number) &&
		    !(is_half && got == value_of(channel, last)))
			is_wrong = true;
	}
	tally->wrong += is_wrong;
	tally->delivered++;
}

static void count(void *to, const struct rv_intake *intake)
{
	struct tally *tally = to;

	if (intake->kind == RV_INTAKE_MESSAGE) {
		judge(tally, &intake->message);
		tally->polls++;
	} else if (intake->kind == RV_INTAKE_LOST) {
		tally->missed[intake->fault] += intake->missed;
		tally->polls += intake->missed > 0 && intake->fault != RV_FAULT_LATE;
	}
}

static void poll_many(struct fake_unit *fake, struct tally *tally, int polls)
{
	struct rv_station *station = station_for(fake, fake->single);
	struct rv_source *source;
	struct rv_error error;
	enum rv_fault fault;
	bool is_open = false;

	*tally = (struct tally){.fake = fake, .station = station, .requests = fake->single ? 1 : 2};
	assert_int_equal(rv_source_new(station, 0, count, tally, &source, &error), RV_OK);
	while (tally->polls < polls) {
		if (!is_open)
			is_open = source->type->open(source, &fault, &error) == RV_OK;
		if (!is_open)
			rv_clock_sleep_until(rv_clock_mono_ns() + TIMEOUT_NS);
		else if (source->type->next(source, &error) == RV_ERR_CLOSED) {
			source->type->close(source);
			is_open = false;
		}
	}
	source->type->close(source);
	source->type->free(source);
}

static void run_case(const char *label, struct fake_unit *fake, bool tcp)
{
	struct tally tally;
	int64_t begun_ns = rv_clock_mono_ns();

	fake->unit = UNIT;
	fake->late_ratio = 0.05;
	fake->late_min_ns = TIMEOUT_NS;
	if (!fake->late_max_ns)
		fake->late_max_ns = 4 * TIMEOUT_NS;
	assert_int_equal(tcp ? fake_unit_start_tcp(fake) : fake_unit_start_rtu(fake), 0);
	poll_many(fake, &tally, polls_wanted());
	fake_unit_stop(fake);
	print_message(
	    "%s: %lld polls, %u late answers, %lld delivered, %lld wrong; lost: %lld "
	    "time-out, %lld slots late, %lld garbled, %lld checksum; %.1f s\n",
	    label, (long long)tally.polls, atomic_load(&fake->late), (long long)tally.delivered,
	    (long long)tally.wrong, (long long)tally.missed[RV_FAULT_TIMEOUT],
	    (long long)tally.missed[RV_FAULT_LATE], (long long)tally.missed[RV_FAULT_GARBLED],
	    (long long)tally.missed[RV_FAULT_CHECKSUM],
	    (double)(rv_clock_mono_ns() - begun_ns) / 1e9);
	assert_int_equal(tally.wrong, 0);
	assert_true(tally.delivered > tally.polls / 2);
	assert_true(atomic_load(&fake->late) > 0);
	assert_true(tally.missed[RV_FAULT_TIMEOUT] > 0);
}

static void rtu_late_answers_never_become_values(void **state)
{
	struct fake_unit fake = {.answers_others = true, .seed = 1};

	(void)state;
	run_case("RTU, two blocks", &fake, false);
}

static void rtu_late_answers_of_a_single_register_never_become_values(void **state)
{
	struct fake_unit fake = {.answers_others = true, .single = true, .seed = 2};

	(void)state;
	run_case("RTU, one register", &fake, false);
}

static void rtu_units_that_forget_questions_while_busy_are_followed(void **state)
{
	struct fake_unit fake = {.answers_others = true, .drops_while_busy = true, .seed = 3};

	(void)state;
	run_case("RTU, forgetful", &fake, false);
}

/* Far later than the quiet time: only the probe can tell. */
static void rtu_answers_later_than_the_quiet_time_never_become_values(void **state)
{
	struct fake_unit fake = {.answers_others = true, .late_max_ns = 12 * TIMEOUT_NS, .seed = 4};

	(void)state;
	run_case("RTU, very late", &fake, false);
}

static void tcp_late_answers_never_become_values(void **state)
{
	struct fake_unit fake = {.answers_others = true, .seed = 5};

	(void)state;
	run_case("TCP, two blocks", &fake, true);
}

static void tcp_late_answers_of_a_single_register_never_become_values(void **state)
{
	struct fake_unit fake = {.answers_others = true, .single = true, .seed = 6};

	(void)state;
	run_case("TCP, one register", &fake, true);
}

/* The fault is real: asked without that care, the same unit gives wrong values by the dozen. */
static void without_the_care_the_same_unit_deceives(void **state)
{
	struct fake_unit fake = {.unit = UNIT,
				 .answers_others = true,
				 .single = true,
				 .late_ratio = 0.05,
				 .late_min_ns = TIMEOUT_NS,
				 .late_max_ns = 4 * TIMEOUT_NS,
				 .seed = 7};
	const struct rv_regs_request request = {RV_REGISTER_INPUT, 7, 1};
	struct rv_modbus_wire *wire;
	struct rv_modbus_answer answer;
	struct rv_modbus_trouble trouble;
	struct rv_error error;
	enum rv_fault fault;
	int wrong = 0;

	(void)state;
	assert_int_equal(fake_unit_start_rtu(&fake), 0);
	struct rv_station *station = station_for(&fake, true);
	assert_int_equal(rv_modbus_wire_new(&station->device[0], &wire, &error), RV_OK);
	assert_int_equal(rv_modbus_wire_open(wire, &fault, &error), RV_OK);
	for (unsigned int asked = 1; asked <= 300; asked++)
		if (rv_modbus_wire_read(wire, &request, &answer, &trouble) == RV_OK)
			wrong += answer.words[0] != (asked & 0xffff);
	rv_modbus_wire_free(wire);
	fake_unit_stop(&fake);
	assert_true(wrong > 0);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(rtu_late_answers_never_become_values),
	    cmocka_unit_test(rtu_late_answers_of_a_single_register_never_become_values),
	    cmocka_unit_test(rtu_units_that_forget_questions_while_busy_are_followed),
	    cmocka_unit_test(rtu_answers_later_than_the_quiet_time_never_become_values),
	    cmocka_unit_test(tcp_late_answers_never_become_values),
	    cmocka_unit_test(tcp_late_answers_of_a_single_register_never_become_values),
	    cmocka_unit_test(without_the_care_the_same_unit_deceives),
	};

	if (argc > 1)
		cmocka_set_test_filter(argv[1]);
	return cmocka_run_group_tests_name("late", tests, NULL, NULL);
}
