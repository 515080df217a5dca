/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeved: starts things in a written order and stops them in reverse.
 */
#include <errno.h>
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "daemon/check.h"
#include "daemon/clock.h"
#include "daemon/config.h"
#include "daemon/engine.h"
#include "daemon/engine_outputs.h"
#include "daemon/http.h"
#include "daemon/live.h"
#include "daemon/log.h"
#include "daemon/notify.h"
#include "daemon/output.h"
#include "daemon/reader.h"
#include "daemon/recorder.h"
#include "daemon/ring.h"

enum { INTAKE_ROOM = 8192, EXIT_MISUSED = 2 };

struct options {
	const char *station_path;
	bool check_only;
	struct rv_check check;
};

/* Everything that runs, in the order it was started. */
struct house {
	struct rv_config *config;
	struct rv_recorder *recorder;
	struct rv_live_board *board;
	struct rv_ring *intake;
	struct rv_outputs *outputs;
	struct rv_engine *engine;
	struct rv_reader *readers[RV_DEVICES];
	struct rv_http *http;
};

static void print_usage(FILE *to)
{
	fprintf(
	    to,
	    "usage: reeved -c STATION [-n [--probe] [--json]] [-v]\n\n"
	    "  -c, --station STATION  the station file\n"
	    "  -n, --check            check the station and its rig, print what is found, leave\n"
	    "      --probe            with -n: also read every channel once from its wire\n"
	    "      --json             with -n: what is found as one JSON object\n"
	    "  -v, --verbose          say more\n"
	    "      --help, --version\n\n"
	    "reeved advises. It is no safety device and no load limiter.\n");
}

/* Returns -1 to go on, else the exit status. */
static int read_options(int argc, char **argv, struct options *options)
{
	static const struct option table[] = {
	    {"station", required_argument, NULL, 'c'}, {"check", no_argument, NULL, 'n'},
	    {"probe", no_argument, NULL, 'p'},	       {"json", no_argument, NULL, 'j'},
	    {"verbose", no_argument, NULL, 'v'},       {"help", no_argument, NULL, 'h'},
	    {"version", no_argument, NULL, 'V'},       {NULL, 0, NULL, 0},
	};
	int letter;

	/* NOLINTNEXTLINE(concurrency-mt-unsafe): no other thread yet */
	while ((letter = getopt_long(argc, argv, "c:nv", table, NULL)) != -1) {
		switch (letter) {
		case 'c':
			options->station_path = optarg;
			break;
		case 'n':
			options->check_only = true;
			break;
		case 'p':
			options->check.probe = true;
			break;
		case 'j':
			options->check.json = true;
			break;
		case 'v':
			rv_log_up_to(RV_LOG_DEBUG);
			break;
		case 'h':
			print_usage(stdout);
			return EXIT_SUCCESS;
		case 'V':
			printf(
			    "reeved %s\nIt advises. It is no safety device and no load limiter.\n",
			    RV_VERSION);
			return EXIT_SUCCESS;
		default:
			print_usage(stderr);
			return EXIT_MISUSED;
		}
	}
	if (!options->station_path || optind != argc ||
	    ((options->check.probe || options->check.json) && !options->check_only)) {
		print_usage(stderr);
		return EXIT_MISUSED;
	}
	return -1;
}

/* What follows the record. */
static enum rv_err start_rest(struct house *house, const char *station_path,
			      struct rv_engine_setup *setup, struct rv_error *error)
{
	const struct rv_config *config = house->config;
	const struct rv_station *station = &config->station;

	enum rv_err err = rv_live_new(&house->board);
	if (err == RV_OK)
		err = rv_ring_new(sizeof(struct rv_intake), INTAKE_ROOM, &house->intake);
	if (err != RV_OK)
		return rv_err_set(error, err, "no memory to start with");
	err = rv_recorder_start(house->recorder, error);
	if (err != RV_OK)
		return err;
	if (station->outputs > 0) {
		struct rv_output_report report = {rv_engine_outputs_tell, house->intake};
		err = rv_output_start(station, &report, &house->outputs, error);
		if (err != RV_OK)
			return err;
	}
	setup->rig = rv_config_take_rig(house->config);
	setup->outputs = house->outputs;
	setup->recorder = house->recorder;
	setup->board = house->board;
	setup->intake = house->intake;
	err = rv_engine_start(setup, &house->engine, error);
	if (err != RV_OK)
		return err;
	for (int i = 0; i < station->devices; i++) {
		if (rv_station_channel_at(station, i, 0) < 0)
			continue; /* only outputs: nothing to read */
		err = rv_reader_start(station, i, house->intake, &house->readers[i], error);
		if (err != RV_OK)
			return err;
	}
	struct rv_http_setup page = {
	    .station = station,
	    .board = house->board,
	    .engine = house->engine,
	    .station_path = station_path,
	    .record_path = config->record,
	    .rig_path = config->rig_path,
	};
	return rv_http_start(&page, &house->http, error);
}

static enum rv_err start(struct house *house, const char *station_path, struct rv_error *error)
{
	const struct rv_config *config = house->config;
	struct rv_engine_setup setup = {.station = &config->station};

	enum rv_err err = rv_recorder_open(config->record, setup.station, config->text,
					   &house->recorder, &setup.found, error);
	if (err != RV_OK)
		return err;
	rv_clock_fix(setup.found.latest_us);
	err = start_rest(house, station_path, &setup, error);
	free(setup.found.open_run_rig);
	free(setup.found.rig_text);
	return err;
}

static void stop(struct house *house)
{
	rv_http_stop(house->http);
	for (int i = 0; i < RV_DEVICES; i++)
		rv_reader_stop(house->readers[i]);
	rv_engine_stop(house->engine);
	rv_output_stop(house->outputs);
	rv_recorder_stop(house->recorder);
	rv_ring_free(house->intake);
	rv_live_free(house->board);
	rv_config_free(house->config);
}

/* Feeds the service manager's watchdog only while the engine publishes. */
static void run_until_told(const struct house *house, const sigset_t *signals)
{
	static struct rv_live live;
	int64_t interval_ns = rv_notify_interval_ns();
	uint64_t seen = 0;

	for (;;) {
		int64_t wait_ns = interval_ns > 0 ? interval_ns : 1000000000;
		struct timespec wait = {.tv_sec = wait_ns / 1000000000,
					.tv_nsec = wait_ns % 1000000000};
		int number = sigtimedwait(signals, NULL, &wait);
		if (number == SIGTERM || number == SIGINT)
			return;
		if (number < 0 && errno != EAGAIN && errno != EINTR)
			return;
		rv_live_get(house->board, &live);
		if (live.version != seen)
			rv_notify_alive();
		seen = live.version;
	}
}

int main(int argc, char **argv)
{
	struct options options = {0};
	struct house house = {0};
	struct rv_error error = {0};
	char culprit[RV_PATH_SIZE] = "";
	sigset_t signals;

	int done = read_options(argc, argv, &options);
	if (done >= 0)
		return done;
	if (rv_config_load(options.station_path, &house.config, culprit, &error) != RV_OK) {
		rv_check_refuse(&options.check, culprit, &error);
		return EXIT_FAILURE;
	}
	if (options.check_only) {
		bool good = rv_check_run(&options.check, house.config);
		stop(&house);
		return good ? EXIT_SUCCESS : EXIT_FAILURE;
	}
	/* Blocked before any thread exists, so that only sigtimedwait sees them.  A file-size limit
	 * must come back as an error of write(2), and so must a client that has gone. */
	sigemptyset(&signals);
	sigaddset(&signals, SIGTERM);
	sigaddset(&signals, SIGINT);
	pthread_sigmask(SIG_BLOCK, &signals, NULL);
	signal(SIGPIPE, SIG_IGN);
	signal(SIGXFSZ, SIG_IGN);

	rv_log_start();
	if (start(&house, options.station_path, &error) != RV_OK) {
		rv_log_error("system", NULL, &error);
		stop(&house);
		rv_log_stop();
		return EXIT_FAILURE;
	}
	fprintf(stderr, "page: http://%s:%d/\n", house.config->station.listen,
		rv_http_port(house.http));
	rv_notify_ready("recording");
	run_until_told(&house, &signals);
	rv_notify_stopping();
	stop(&house);
	rv_log_stop();
	return EXIT_SUCCESS;
}
