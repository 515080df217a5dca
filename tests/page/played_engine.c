/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "tests/page/played.h"

#define EVERY_NS 50000000LL

enum { RETIRED = 64 };

struct rv_engine {
	pthread_mutex_t lock;
	pthread_t thread;
	bool stop, silent;
	int64_t answer_ns; /* how long a wish takes: a slow disk */
	int64_t runs;
	struct rv_live_board *board;
	struct rv_live live;
	struct rv_ground *ground, *before[RETIRED];
	int retired;
};

static void measured(struct rv_live_load *load, double load_n)
{
	load->load = (struct rv_span){load_n, load_n, load_n};
	load->is_measured = true;
}

static void predicted(struct rv_live_load *load, double load_n)
{
	load->load = (struct rv_span){load_n * 0.97, load_n, load_n * 1.03};
	load->is_measured = false;
}

/* What hangs together: loads of the parts from the two cells, the dead one perhaps lost. */
static void derive(struct rv_live *live)
{
	double lead = live->channel[0].quality == RV_BAD ? (double)NAN : live->channel[0].value;
	double dead = live->channel[1].quality == RV_BAD ? (double)NAN : live->channel[1].value;
	double dead_by_lead = lead * 0.95, lead_by_dead = dead / 0.95;

	live->cell[0] = (struct rv_live_cell){
	    0, lead, {lead_by_dead * 0.98, lead_by_dead, lead_by_dead * 1.02}};
	live->cell[1] = (struct rv_live_cell){
	    1, dead, {dead_by_lead * 0.98, dead_by_lead, dead_by_lead * 1.02}};
	double a = isnan(lead) ? lead_by_dead : lead, b = isnan(dead) ? dead_by_lead : dead;
	(isnan(lead) ? predicted : measured)(&live->leg[0], a);
	(isnan(dead) ? predicted : measured)(&live->leg[1], b);
	for (int i = 0; i < 8; i++)
		predicted(&live->component[i], a + b);
	(isnan(dead) ? predicted : measured)(&live->component[1], b);
	(isnan(lead) ? predicted : measured)(&live->component[3], a);
	(isnan(lead) ? predicted : measured)(&live->component[4], a);
	live->component[7] = live->component[1];
	live->weakest = 6;
	for (int i = 0; i < 2; i++)
		live->channel[i].peak = fmax(live->channel[i].peak, live->channel[i].value);
}

void played_live(struct rv_live *live)
{
	memset(live, 0, sizeof *live);
	for (int i = 0; i < 3; i++)
		live->channel[i] = (struct rv_live_channel){.age_s = 0.01, .rate_hz = 100.0};
	live->channel[0].value = 21300.0;
	live->channel[1].value = 20150.0;
	live->channel[2].value = 41.85;
	live->channel[2].peak = (double)NAN;
	live->winch[0] = (struct rv_live_rope){41.85, -0.118, 41.85, RV_MOTION_IN};
	live->clock_trusted = true;
	live->device[0] = (struct rv_live_device){.is_open = true, .messages = 1200};
	live->record.readings = 123456;
	live->pull.under_way = true;
	live->pull.direction = RV_MOTION_IN;
	live->pull.log_ratio = -0.0555;
	live->pull.efficiency_ratio = 0.946;
	live->pull.scatter_ratio = 0.004;
	live->pull.seconds = 14.2;
	live->pull.sheaves_effective = 1.0;
	live->pull.near_cell = 0;
	live->pull.far_cell = 1;
}

static void *publish(void *arg)
{
	struct rv_engine *engine = arg;
	int64_t next_ns = rv_clock_mono_ns();

	pthread_mutex_lock(&engine->lock);
	while (!engine->stop) {
		struct rv_live *live = &engine->live;
		live->mono_ns = rv_clock_mono_ns();
		live->record.readings += 10;
		live->record.last_commit_mono_ns = live->mono_ns - 300000000LL;
		derive(live);
		if (!engine->silent)
			rv_live_publish(engine->board, live);
		pthread_mutex_unlock(&engine->lock);
		next_ns += EVERY_NS;
		if (next_ns < rv_clock_mono_ns())
			next_ns = rv_clock_mono_ns() + EVERY_NS;
		rv_clock_sleep_until(next_ns);
		pthread_mutex_lock(&engine->lock);
	}
	pthread_mutex_unlock(&engine->lock);
	return NULL;
}

struct rv_engine *played_engine_new(struct rv_live_board *board)
{
	struct rv_engine *engine = calloc(1, sizeof *engine);

	if (!engine)
		abort();
	pthread_mutex_init(&engine->lock, NULL);
	engine->board = board;
	played_live(&engine->live);
	engine->ground = played_ground();
	if (pthread_create(&engine->thread, NULL, publish, engine) != 0)
		abort();
	return engine;
}

void played_engine_free(struct rv_engine *engine)
{
	pthread_mutex_lock(&engine->lock);
	engine->stop = true;
	pthread_mutex_unlock(&engine->lock);
	pthread_join(engine->thread, NULL);
	pthread_mutex_destroy(&engine->lock);
	rv_ground_free(engine->ground);
	while (engine->retired > 0)
		rv_ground_free(engine->before[--engine->retired]);
	free(engine);
}

static void set_number(struct rv_live *live, const char *key, double value)
{
	if (strcmp(key, "lead") == 0)
		live->channel[0].value = value;
	else if (strcmp(key, "dead") == 0)
		live->channel[1].value = value;
	else if (strcmp(key, "payout") == 0)
		live->winch[0].payout_m = live->channel[2].value = value;
	else if (strcmp(key, "speed") == 0)
		live->winch[0].speed_mps = value;
	else if (strcmp(key, "motion") == 0)
		live->winch[0].motion = (enum rv_motion)value;
	else if (strcmp(key, "state") == 0)
		live->state = (enum rv_danger)value;
	else if (strcmp(key, "data") == 0)
		live->data = (enum rv_data)value;
	else if (strcmp(key, "pull") == 0)
		live->pull.under_way = value > 0;
	else if (strcmp(key, "simulated") == 0)
		live->simulated = value > 0;
	else if (strcmp(key, "failing") == 0)
		live->record.failing = value > 0;
	else if (strcmp(key, "trusted") == 0)
		live->clock_trusted = value > 0;
}

/* The channel's last value goes, as the engine does it. */
static void lose(struct rv_live *live, int channel, bool lost)
{
	live->channel[channel].quality = lost ? RV_BAD : RV_GOOD;
	live->channel[channel].cause = lost ? RV_CAUSE_NO_COMMUNICATION : RV_CAUSE_NONE;
	live->channel[channel].age_s = lost ? 3.4 : 0.01;
	if (channel == 2) {
		live->winch[0].payout_m = live->winch[0].speed_mps = live->winch[0].left_m =
		    (double)NAN;
		live->winch[0].motion = RV_MOTION_UNKNOWN;
	}
}

/* alarm LEVEL IS_DATA STATE NAME|TEXT|ACTION */
static void add_alarm(struct rv_live *live, int level, int is_data, int state, const char *words)
{
	struct rv_live_alarm *alarm = &live->alarm[0];

	memmove(&live->alarm[1], &live->alarm[0], (size_t)live->alarms * sizeof *alarm);
	live->alarms++;
	memset(alarm, 0, sizeof *alarm);
	alarm->level = (enum rv_alarm_level)level;
	alarm->state = (enum rv_alarm_state)state;
	alarm->is_data = is_data != 0;
	alarm->since_us = rv_clock_utc_us();
	sscanf(words, "%127[^|]|%159[^|]|%127[^\n]", alarm->name, alarm->text, alarm->action);
}

static bool obey(struct rv_engine *engine, const char *line)
{
	char key[64];
	double value = 0.0;
	int level = 0, is_data = 0, state = 0, at = 0;
	struct rv_live *live = &engine->live;

	if (sscanf(line, "set %63s %lf", key, &value) == 2)
		set_number(live, key, value);
	else if (sscanf(line, "lose %d", &level) == 1)
		lose(live, level, true);
	else if (sscanf(line, "find %d", &level) == 1)
		lose(live, level, false);
	else if (sscanf(line, "alarm %d %d %d %n", &level, &is_data, &state, &at) == 3)
		add_alarm(live, level, is_data, state, line + at);
	else if (strncmp(line, "calm", 4) == 0)
		played_live(live);
	else if (sscanf(line, "silent %d", &level) == 1)
		engine->silent = level != 0;
	else if (sscanf(line, "slow %d", &level) == 1)
		engine->answer_ns = level * 1000000LL;
	else if (sscanf(line, "rig %d", &level) == 1)
		live->rig_number = level;
	else
		return false;
	return true;
}

bool played_engine_command(struct rv_engine *engine, const char *line)
{
	pthread_mutex_lock(&engine->lock);
	bool known = obey(engine, line);
	pthread_mutex_unlock(&engine->lock);
	return known;
}

/* Wishes, as the real engine takes them.  Each is told on standard output for the test to see. */
static void begin_wish(struct rv_engine *engine)
{
	pthread_mutex_lock(&engine->lock);
	int64_t wait_ns = engine->answer_ns;
	pthread_mutex_unlock(&engine->lock);
	rv_clock_sleep_until(rv_clock_mono_ns() + wait_ns);
	pthread_mutex_lock(&engine->lock);
}

static enum rv_err end_wish(struct rv_engine *engine, enum rv_err err)
{
	fflush(stdout);
	pthread_mutex_unlock(&engine->lock);
	return err;
}

enum rv_err rv_engine_start_run(struct rv_engine *engine, const char *name, int64_t *number,
				struct rv_error *error)
{
	begin_wish(engine);
	if (engine->live.run.number)
		return end_wish(engine, rv_err_refuse(error, "run_open", "a run is open already"));
	*number = engine->live.run.number = ++engine->runs;
	snprintf(engine->live.run.name, sizeof engine->live.run.name, "%s",
		 name ? name : "unnamed");
	engine->live.run.started_us = rv_clock_utc_us();
	printf("wish start %s\n", name ? name : "");
	return end_wish(engine, RV_OK);
}

enum rv_err rv_engine_stop_run(struct rv_engine *engine, int64_t number, struct rv_error *error)
{
	begin_wish(engine);
	if (engine->live.run.number != number)
		return end_wish(engine, rv_err_refuse(error, "no_run", "that run is not open"));
	engine->live.run.number = 0;
	printf("wish stop %lld\n", (long long)number);
	return end_wish(engine, RV_OK);
}

enum rv_err rv_engine_mark(struct rv_engine *engine, const char *text, double travel_m,
			   const char *by_whom, struct rv_error *error)
{
	(void)error;
	begin_wish(engine);
	printf("wish mark %s|%g|%s\n", text, travel_m, by_whom);
	return end_wish(engine, RV_OK);
}

enum rv_err rv_engine_strike(struct rv_engine *engine, const struct rv_store_strike *strike,
			     struct rv_error *error)
{
	(void)error;
	begin_wish(engine);
	printf("wish strike %lld|%lld|%s\n", (long long)strike->run, (long long)strike->pull,
	       strike->reason);
	return end_wish(engine, RV_OK);
}

static enum rv_err change_alarm(struct rv_engine *engine, const char *name, const char *what,
				struct rv_error *error)
{
	struct rv_live *live = &engine->live;

	begin_wish(engine);
	for (int i = 0; i < live->alarms; i++) {
		struct rv_live_alarm *alarm = &live->alarm[i];
		if (strcmp(alarm->name, name) != 0)
			continue;
		if (alarm->state == RV_ALARM_RETURNED_UNACKNOWLEDGED) {
			live->alarms--;
			memmove(alarm, alarm + 1, (size_t)(live->alarms - i) * sizeof *alarm);
		} else if (alarm->state == RV_ALARM_UNACKNOWLEDGED) {
			alarm->state = RV_ALARM_ACKNOWLEDGED;
		}
		printf("wish %s %s\n", what, name);
		return end_wish(engine, RV_OK);
	}
	return end_wish(engine, rv_err_refuse(error, "alarm_unknown", "there is no such alarm"));
}

enum rv_err rv_engine_acknowledge(struct rv_engine *engine, const char *alarm, const char *by_whom,
				  struct rv_error *error)
{
	(void)by_whom;
	return change_alarm(engine, alarm, "acknowledge", error);
}

enum rv_err rv_engine_reset(struct rv_engine *engine, const char *alarm, const char *by_whom,
			    struct rv_error *error)
{
	(void)by_whom;
	return change_alarm(engine, alarm, "reset", error);
}

/* The rigs before are kept to the end: somebody may still look at them. */
enum rv_err rv_engine_set_rig(struct rv_engine *engine, struct rv_ground *rig,
			      struct rv_error *error)
{
	begin_wish(engine);
	if (engine->retired == RETIRED) {
		rv_ground_free(rig);
		return end_wish(engine, rv_err_refuse(error, "busy", "no room for another rig"));
	}
	engine->before[engine->retired++] = engine->ground;
	engine->ground = rig ? rig : played_ground();
	engine->live.rig_number++;
	engine->live.run.number = 0;
	printf("wish rig %s\n", rig ? rig->rig.name : "own");
	return end_wish(engine, RV_OK);
}

const struct rv_ground *rv_engine_rig(struct rv_engine *engine, int *number)
{
	pthread_mutex_lock(&engine->lock);
	*number = engine->live.rig_number;
	const struct rv_ground *ground = engine->ground;
	pthread_mutex_unlock(&engine->lock);
	return ground;
}

void rv_engine_rig_done(struct rv_engine *engine, const struct rv_ground *ground)
{
	(void)engine;
	(void)ground;
}
