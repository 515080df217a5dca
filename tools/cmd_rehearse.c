/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve rehearse: plays a scenario's instruments on real wires until it ends or is told to stop.
 */
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "core/json.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/rehearse_scenario.h"
#include "tools/rehearse_stage.h"

enum { SCENARIO_MOST = 1 << 20, LET_READ_TIMES = 100 };

/* Held up longer than this (suspend, debugger), the rehearsal goes on from now instead of playing
 * everything at once. */
static const double CATCH_UP_S = 0.5;

static volatile sig_atomic_t told_to_stop;

static void stop(int number)
{
	(void)number;
	told_to_stop = 1;
}

static void catch_signals(void)
{
	struct sigaction action = {.sa_handler = stop};

	sigaction(SIGINT, &action, NULL);
	sigaction(SIGTERM, &action, NULL);
	sigaction(SIGHUP, &action, NULL);
}

static double clock_s(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A scenario is a file, or a directory that holds scenario.yaml. */
static FILE *open_scenario(const char *name, char *path, size_t size)
{
	struct stat found;
	bool directory = stat(name, &found) == 0 && S_ISDIR(found.st_mode);

	snprintf(path, size, directory ? "%s/scenario.yaml" : "%s", name);
	return fopen(path, "r");
}

static bool read_scenario(const char *name, struct rv_rehearse_scenario *scenario)
{
	char path[4096];
	struct rv_error error = {0};
	FILE *file = open_scenario(name, path, sizeof path);
	char *text = malloc(SCENARIO_MOST);
	bool good = false;
	size_t len = 0;

	if (!file || !text) {
		fprintf(stderr, "reeve rehearse: %s: %m\n", path);
		goto out;
	}
	len = fread(text, 1, SCENARIO_MOST, file);
	if (ferror(file) || len == SCENARIO_MOST) {
		fprintf(stderr, "reeve rehearse: %s: cannot be read whole\n", path);
		goto out;
	}
	good = rv_rehearse_scenario_read(text, len, scenario, &error) == RV_OK;
	if (!good)
		fprintf(stderr, "%s:%d:%d: %s\n", path, error.line, error.column, error.text);
out:
	free(text);
	if (file)
		(void)fclose(file);
	return good;
}

static void play(struct rv_rehearse_stage *stage, double speed)
{
	struct pollfd polls[RV_REHEARSE_INSTRUMENTS * (RV_REHEARSE_PEERS + 1)];
	struct timespec pause = {.tv_nsec = lround(1e9 * stage->scenario->step_s / speed)};
	double start_s = clock_s();

	while (!told_to_stop) {
		double until_s = (clock_s() - start_s) * speed;
		double behind_s = until_s - stage->now_s;
		if (behind_s > CATCH_UP_S * fmax(1, speed)) {
			stage->skipped_s += behind_s;
			start_s += behind_s / speed;
			continue;
		}
		if (!rv_rehearse_stage_play(stage, until_s))
			return;
		int count = rv_rehearse_stage_polls(stage, polls);
		ppoll(polls, (nfds_t)count, &pause, NULL);
	}
}

/* Pulling out a terminal throws away what its reader has not fetched yet: a moment is given. */
static void let_read(const struct rv_rehearse_stage *stage)
{
	const struct timespec pause = {.tv_nsec = 10000000};
	int unread = 1;

	for (int i = 0; i < LET_READ_TIMES && unread > 0; i++) {
		nanosleep(&pause, NULL);
		unread = 0;
		for (int k = 0; k < stage->scenario->instruments; k++)
			unread += rv_rehearse_wire_unread(&stage->talker[k].wire);
	}
}

static json_t *fault_tally(const struct rv_rehearse_tally *tally)
{
	json_t *faults = json_object();

	for (int k = 0; k < RV_REHEARSE_FAULT_KINDS; k++)
		if (tally->faults[k])
			json_object_set_new(
			    faults, rv_rehearse_script_fault_name((enum rv_rehearse_fault_kind)k),
			    json_integer((json_int_t)tally->faults[k]));
	return faults;
}

static json_t *device_tally(const struct rv_rehearse_talker *talker)
{
	const struct rv_rehearse_tally *tally = &talker->tally;
	const struct {
		const char *name;
		uint64_t count;
	} counts[] = {
	    {"requests", tally->requests}, {"messages", tally->messages},
	    {"good", tally->good},	   {"refused", tally->refused},
	    {"spoiled", tally->spoiled},   {"untaken", tally->untaken},
	    {"unheard", tally->unheard},   {"writes", tally->writes},
	    {"endings", tally->endings},
	};
	json_t *device = json_object();

	json_object_set_new(device, "name", json_string(talker->wire.instrument->name));
	for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++)
		json_object_set_new(device, counts[i].name,
				    json_integer((json_int_t)counts[i].count));
	json_object_set_new(device, "faults", fault_tally(tally));
	return device;
}

static void print_json(const struct rv_rehearse_stage *stage)
{
	json_t *all = json_object(), *devices = json_array(), *faults = json_array();
	struct rv_text text = {0};

	for (int i = 0; i < stage->scenario->instruments; i++)
		json_array_append_new(devices, device_tally(&stage->talker[i]));
	for (int i = 0; i < stage->scenario->faults; i++) {
		json_t *fault = json_object();
		json_object_set_new(
		    fault, "fault",
		    json_string(rv_rehearse_script_fault_name(stage->scenario->fault[i].kind)));
		json_object_set_new(fault, "at_s", rv_json_real(stage->scenario->fault[i].at_s));
		json_object_set_new(fault, "times", json_integer((json_int_t)stage->begun[i]));
		json_array_append_new(faults, fault);
	}
	json_object_set_new(all, "scenario", json_string(stage->scenario->name));
	json_object_set_new(all, "simulated", json_true());
	json_object_set_new(all, "played_s", rv_json_real(stage->now_s));
	json_object_set_new(all, "skipped_s", rv_json_real(stage->skipped_s));
	json_object_set_new(all, "rounds", json_integer(stage->rounds));
	json_object_set_new(all, "devices", devices);
	json_object_set_new(all, "faults", faults);
	rv_json_write(all, &text);
	printf("%s\n", text.data ? text.data : "");
	rv_text_free(&text);
	json_decref(all);
}

static void print_plain(const struct rv_rehearse_stage *stage)
{
	printf("SIMULATED %s: played %.1f s, round %d\n", stage->scenario->name, stage->now_s,
	       stage->rounds);
	for (int i = 0; i < stage->scenario->instruments; i++) {
		const struct rv_rehearse_tally *tally = &stage->talker[i].tally;
		printf("  %-12s %llu messages, %llu good", stage->scenario->instrument[i].name,
		       (unsigned long long)tally->messages, (unsigned long long)tally->good);
		if (tally->refused)
			printf(", %llu refused", (unsigned long long)tally->refused);
		if (tally->spoiled)
			printf(", %llu spoiled", (unsigned long long)tally->spoiled);
		if (tally->unheard)
			printf(", %llu unheard", (unsigned long long)tally->unheard);
		for (int k = 0; k < RV_REHEARSE_FAULT_KINDS; k++)
			if (tally->faults[k])
				printf(
				    ", %llu %s", (unsigned long long)tally->faults[k],
				    rv_rehearse_script_fault_name((enum rv_rehearse_fault_kind)k));
		printf("\n");
	}
}

static void print_wires(const struct rv_rehearse_stage *stage)
{
	for (int i = 0; i < stage->scenario->instruments; i++) {
		const struct rv_rehearse_wire *wire = &stage->talker[i].wire;
		if (wire->instrument->link == RV_REHEARSE_TCP)
			fprintf(stderr, "%s: 127.0.0.1:%d\n", wire->instrument->name, wire->port);
		else
			fprintf(stderr, "%s: %s\n", wire->instrument->name, wire->path);
	}
	fprintf(stderr, "playing %s (SIMULATED)\n", stage->scenario->name);
}

static int run(int argc, char **argv)
{
	double speed = 1, base_port = 0;
	const char *wires = ".";
	bool json = false;
	const struct rv_opt opts[] = {
	    {"speed", "X", "X times as fast", RV_OPT_NUMBER, &speed},
	    {"wires", "DIR", "where the links to the serial wires go; made if missing", RV_OPT_TEXT, &wires},
	    {"base-port", "N", "the scenario's lowest port becomes N", RV_OPT_NUMBER, &base_port},
	    {"json", NULL, "print the closing tally as one JSON object", RV_OPT_FLAG, &json},
	};
	const struct rv_usage usage = {
	    .command = "rehearse",
	    .operands = "SCENARIO",
	    .about = "Plays a scenario's instruments on loopback Modbus TCP and pseudo-terminals,\n"
		     "until it ends or is interrupted, and closes with a tally of every message.\n"
		     "SCENARIO is a file, or a directory that holds scenario.yaml.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	int operands = rv_opts_parse(&usage, argc, argv);
	if (operands < 0)
		return -1 - operands;
	if (!(speed >= 0.01 && speed <= 100)) {
		fprintf(stderr, "reeve rehearse: a speed is 0.01 to 100\n");
		return RV_EXIT_USAGE;
	}
	if (!(base_port >= 0 && base_port <= 65000) || floor(base_port) < base_port) {
		fprintf(stderr, "reeve rehearse: a base port is a whole number up to 65000\n");
		return RV_EXIT_USAGE;
	}

	static struct rv_rehearse_scenario scenario;
	static struct rv_rehearse_stage stage;
	struct rv_error error = {0};
	if (!read_scenario(argv[1], &scenario))
		return RV_EXIT_REFUSED;
	struct rv_rehearse_setup setup = {.wires = wires, .base_port = (int)base_port};
	if (mkdir(wires, 0777) != 0 && errno != EEXIST) {
		fprintf(stderr, "reeve rehearse: cannot make %s: %m\n", wires);
		return RV_EXIT_REFUSED;
	}
	catch_signals();
	if (rv_rehearse_stage_open(&stage, &scenario, setup, &error) != RV_OK) {
		fprintf(stderr, "reeve rehearse: %s\n", error.text);
		return RV_EXIT_REFUSED;
	}
	print_wires(&stage);
	play(&stage, speed);
	let_read(&stage);
	rv_rehearse_stage_close(&stage);
	if (json)
		print_json(&stage);
	else
		print_plain(&stage);
	return RV_EXIT_DONE;
}

const struct rv_command rv_cmd_rehearse = {
    .name = "rehearse",
    .summary = "play a scenario's instruments on real wires (SIMULATED)",
    .run = run,
};
