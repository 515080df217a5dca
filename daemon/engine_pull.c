/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_pull.h"

#include <math.h>

#include "core/pull_rope.h"
#include "daemon/engine_loads.h"

/* Cells that see less than this many sheaves between them tell nothing of efficiency. */
#define SHEAVES_LEAST 0.3

/* Between the two cells; 0 when one of them has no channel. */
static double sheaves_between(struct rv_engine *engine, int near, int far)
{
	if (near == far || rv_engine_loads_channel(engine, near) < 0 ||
	    rv_engine_loads_channel(engine, far) < 0)
		return 0.0;
	return rv_predictor_sheaves_between(engine->ground->moving, near, far);
}

void rv_engine_pull_init(struct rv_engine *engine)
{
	const struct rv_predictor *predictor = engine->ground ? engine->ground->moving : NULL;
	int cells = predictor && engine->ground->rig.winches == 1 ? engine->ground->rig.cells : 0;

	engine->near = engine->far = -1;
	engine->pull_sheaves = SHEAVES_LEAST;
	for (int near = 0; near < cells; near++) {
		for (int far = 0; far < cells; far++) {
			double sheaves = sheaves_between(engine, near, far);
			if (!(sheaves > engine->pull_sheaves))
				continue;
			engine->near = near;
			engine->far = far;
			engine->pull_sheaves = sheaves;
		}
	}
	if (engine->near < 0)
		return;
	const struct rv_channel *channels = engine->station->channel;
	struct rv_pull_setup setup = rv_pull_setup_of(
	    &channels[rv_engine_loads_channel(engine, engine->near)],
	    &channels[rv_engine_loads_channel(engine, engine->far)], engine->pull_sheaves);
	setup.rope = rv_pull_rope_of(predictor, engine->near, engine->far);
	rv_pull_init(&engine->pull, &setup);
}

void rv_engine_pull_reading(struct rv_engine *engine, int channel, int64_t mono_ns)
{
	const struct rv_engine_channel *state = &engine->channel[channel];

	if (engine->near < 0 || state->cell < 0)
		return;
	if (state->cell == engine->near)
		rv_pull_see(&engine->pull, RV_PULL_NEAR, state->last.value, mono_ns);
	if (state->cell == engine->far)
		rv_pull_see(&engine->pull, RV_PULL_FAR, state->last.value, mono_ns);
}

void rv_engine_pull_position(struct rv_engine *engine, int winch, bool restarted, int64_t mono_ns)
{
	const struct rv_motion_track *track = &engine->rope[winch].track;

	if (engine->near < 0 || winch != 0 || !track->setup.knows_metres)
		return;
	if (restarted)
		rv_pull_payout_restart(&engine->pull);
	rv_pull_payout(&engine->pull, track->last_m, mono_ns);
}

void rv_engine_pull_motion(struct rv_engine *engine, int64_t mono_ns)
{
	struct rv_pull_result ended;

	if (engine->near >= 0)
		(void)rv_pull_motion(&engine->pull, &engine->rope[0].now, mono_ns, &ended);
}

void rv_engine_pull_publish(struct rv_engine *engine)
{
	struct rv_pull_result running;

	engine->live.pull.under_way = false;
	engine->live.pull.log_ratio = engine->live.pull.efficiency_ratio = (double)NAN;
	engine->live.pull.scatter_ratio = (double)NAN;
	if (engine->near < 0 || !rv_pull_running(&engine->pull, &running))
		return;
	engine->live.pull.under_way = true;
	engine->live.pull.direction = running.direction;
	engine->live.pull.near_cell = engine->near;
	engine->live.pull.far_cell = engine->far;
	engine->live.pull.sheaves_effective = engine->pull_sheaves;
	engine->live.pull.seconds = running.counted_s;
	engine->live.pull.log_ratio = running.log_ratio;
	/* Scatter of the log ratio brought to one sheave. */
	engine->live.pull.scatter_ratio = running.scatter_ratio / engine->pull_sheaves;
	double efficiency = (double)NAN;
	if (!isnan(running.log_ratio) &&
	    rv_predictor_efficiency(engine->ground->moving, engine->near, engine->far,
				    running.log_ratio, running.direction, &efficiency) == RV_OK)
		engine->live.pull.efficiency_ratio = efficiency;
}
