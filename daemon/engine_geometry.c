/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_geometry.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "daemon/engine_loads.h"

/* No leg turns by more than this, in radians, before it is solved anew (of the shortest leg). */
#define TURN_RATIO 0.002
/* Below it an encoder's steps would be followed, not the line. */
#define LEAST_M 0.002
/* Ten metres a second at 20 ticks: no winch line is faster. */
#define MOST_M 0.5
/* Weights and drag are reckoned anew beside a load that has changed by so much. */
#define LOAD_RATIO 1.25

static void say(struct rv_engine *engine, enum rv_geometry state, const char *text)
{
	struct rv_live_geometry *live = &engine->live.geometry;
	bool news = state != live->state;

	live->state = state;
	live->line_in_m = state == RV_GEOMETRY_AS_LAID ? (double)NAN : engine->follow.solved_m;
	snprintf(live->text, sizeof live->text, "%s", text);
	if (!news)
		return;
	if (state == RV_GEOMETRY_KEPT)
		rv_log(RV_LOG_WARNING, "rig", "geometry kept as it was: %s", text);
	else if (state == RV_GEOMETRY_FOLLOWS)
		rv_log(RV_LOG_NOTICE, "rig", "geometry follows the payout");
}

/* Why this rig cannot be followed, or NULL. */
static const char *why_not(const struct rv_engine *engine)
{
	const struct rv_rig *rig = &engine->ground->rig;

	if (rig->winches != 1 || rig->loads != 1)
		return "one line does not tell where the load is";
	if (engine->rope[0].encoder < 0)
		return "no payout channel";
	if (engine->rope[0].track.setup.is_turns)
		return "turns of the drum do not tell how much line is out";
	return NULL;
}

static double threshold_m(const struct rv_predictor *predictor)
{
	double shortest_m = INFINITY;

	for (int i = 0; i < rv_predictor_legs(predictor); i++)
		shortest_m = fmin(shortest_m, rv_predictor_leg(predictor, i)->length_m);
	return fmax(LEAST_M, fmin(MOST_M / 10.0, TURN_RATIO * shortest_m));
}

/* A line pulls back harder the less of it lies between its ends: EA / length reeved. */
static void tell_stiffness(struct rv_engine *engine)
{
	const struct rv_predictor *predictor = engine->ground->moving;
	double reeved_m[RV_RIG_LINES] = {0};

	for (int i = 0; i < rv_predictor_legs(predictor); i++) {
		const struct rv_leg *leg = rv_predictor_leg(predictor, i);
		reeved_m[leg->rope] += leg->length_m;
	}
	for (int r = 0; r < engine->ground->rig.ropes; r++) {
		double stiffness_n = engine->ground->rig.rope[r].stiffness_n;
		if (stiffness_n > 0.0 && reeved_m[r] > 0.0)
			rv_guards_stiffness(&engine->guards, r, stiffness_n / reeved_m[r]);
	}
}

/* A rig that was followed before is laid again: back to where its file has it. */
static void lay(struct rv_ground *ground)
{
	struct rv_predictor *fresh = NULL;
	struct rv_error error = {0};

	if (rv_predictor_at_payout(ground->moving, 0.0, -1, (double)NAN, &error) == RV_OK ||
	    rv_predictor_new(&ground->rig, &fresh, &error) != RV_OK)
		return;
	rv_predictor_free(ground->moving);
	ground->moving = fresh;
}

void rv_engine_geometry_init(struct rv_engine *engine)
{
	struct rv_engine_follow *follow = &engine->follow;
	bool moved = engine->ground && engine->ground->moved;

	memset(follow, 0, sizeof *follow);
	follow->laid_m = follow->refused_m = (double)NAN;
	engine->live.geometry.state = RV_GEOMETRY_AS_LAID;
	engine->live.geometry.line_in_m = (double)NAN;
	snprintf(engine->live.geometry.text, sizeof engine->live.geometry.text, "as laid");
	if (!engine->ground || !engine->ground->moving)
		return;
	if (moved)
		lay(engine->ground);
	engine->ground->moved = false;
	follow->threshold_m = threshold_m(engine->ground->moving);
	tell_stiffness(engine);
}

void rv_engine_geometry_restart(struct rv_engine *engine, int winch)
{
	if (winch == 0)
		engine->follow.laid_m = (double)NAN;
}

/* Line in since the rig was laid, by the payout now.  NaN = not known now. */
static double line_in_m(struct rv_engine *engine, int64_t mono_ns)
{
	struct rv_engine_follow *follow = &engine->follow;
	const struct rv_engine_rope *rope = &engine->rope[0];
	double payout_m = rope->track.now.payout_m; /* also before its motion is known */

	if (!rv_engine_loads_is_live(&engine->channel[rope->encoder], mono_ns) || isnan(payout_m))
		return (double)NAN;
	if (isnan(follow->laid_m))
		follow->laid_m = payout_m + follow->seen_m;
	follow->seen_m = follow->laid_m - payout_m;
	follow->begun = true;
	return follow->seen_m;
}

/* Whether the load has changed by so much that weights and drag count otherwise. */
static bool is_other_load(double now_n, double before_n)
{
	if (!(now_n > 0.0))
		return false;
	return !(before_n > 0.0) || now_n > LOAD_RATIO * before_n || before_n > LOAD_RATIO * now_n;
}

/* Solves at aim_m.  False: refused, and the prediction stays as it was. */
static bool solve(struct rv_engine *engine, double aim_m, double load_n)
{
	struct rv_engine_follow *follow = &engine->follow;
	struct rv_error error = {0};
	struct rv_predictor *predictor = engine->ground->moving;

	if (rv_predictor_at_payout(predictor, aim_m, engine->given, load_n, &error) != RV_OK) {
		follow->refused_m = aim_m;
		follow->refused_n = load_n;
		snprintf(follow->why, sizeof follow->why, "%s", error.text);
		return false;
	}
	follow->refused_m = (double)NAN;
	follow->solved_m = aim_m;
	follow->solved_n = load_n;
	follow->threshold_m = threshold_m(predictor);
	engine->ground->moved = true;
	tell_stiffness(engine);
	return true;
}

bool rv_engine_geometry_tick(struct rv_engine *engine, int64_t mono_ns)
{
	struct rv_engine_follow *follow = &engine->follow;

	if (!engine->ground || !engine->ground->moving)
		return false;
	const char *why = why_not(engine);
	double target_m = why ? 0.0 : line_in_m(engine, mono_ns);
	double load_n = rv_engine_loads_measured(engine, engine->given, mono_ns);
	if (isnan(target_m)) {
		/* Before the first payout it lies as it was laid. */
		say(engine, follow->begun ? RV_GEOMETRY_KEPT : RV_GEOMETRY_AS_LAID,
		    follow->begun ? "payout is not live" : "no payout yet");
		return false;
	}
	if (why && (engine->ground->rig.winches != 1 || engine->ground->rig.loads != 1)) {
		say(engine, RV_GEOMETRY_AS_LAID, why);
		return false;
	}
	double left_m = target_m - follow->solved_m;
	double aim_m = follow->solved_m + fmax(-MOST_M, fmin(MOST_M, left_m));
	bool moved = fabs(left_m) >= follow->threshold_m;
	bool wanted = moved || is_other_load(load_n, follow->solved_n);
	/* What was refused is asked again only when it is another question. */
	bool asked = !isnan(follow->refused_m) &&
		     fabs(aim_m - follow->refused_m) < follow->threshold_m &&
		     !is_other_load(load_n, follow->refused_n);
	bool solved = wanted && !asked && solve(engine, aim_m, load_n);
	/* Under less load than it was reckoned beside, weights count for more: a slack line cannot
	 * be solved at all, and nothing is in danger by it. */
	if (wanted && !solved && (moved || load_n > follow->solved_n))
		say(engine, RV_GEOMETRY_KEPT, follow->why);
	else if (fabs(target_m - follow->solved_m) > MOST_M)
		say(engine, RV_GEOMETRY_KEPT, "on the way to where the line is");
	else
		say(engine, why ? RV_GEOMETRY_AS_LAID : RV_GEOMETRY_FOLLOWS, why ? why : "");
	return solved;
}
