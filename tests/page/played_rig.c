/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig and the station of the played engine.  The predictor here only knows names: what the
 * parts carry is played too.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/page/played.h"

struct rv_ground *played_ground(void)
{
	static const char text[] =
	    "rig: two-part line, block on the load\n"
	    "points:\n"
	    "  deck:   {at: [0, 0]}\n"
	    "  bumper: {at: [0, 0.8], wll: 90 kN}\n"
	    "  eye:    {at: [36, 0.4], moves_with: van}\n"
	    "loads:\n"
	    "  van: {travels: [-1, 0], resists: 46 kN}\n"
	    "winches:\n"
	    "  drum: {at: deck, rated: 45 kN}\n"
	    "blocks:\n"
	    "  eye block: {at: eye, sheaves: 1, efficiency: [0.93, 0.97], wll: 80 kN}\n"
	    "lines:\n"
	    "  wire: {path: [drum, eye block, bumper], wll: 35 kN}\n"
	    "fittings:\n"
	    "  eye shackle:  {kind: shackle, holds: eye block, wll: 63.7 kN}\n"
	    "  dead shackle: {kind: shackle, holds: wire end, wll: 32.5 kN}\n"
	    "cells:\n"
	    "  lead: {in: wire, leg: 1}\n"
	    "  dead: {in: wire, leg: 2}\n";
	struct rv_ground *ground = NULL;
	struct rv_error error;

	if (rv_ground_from_text(text, &ground, &error) != RV_OK || !ground->predictor) {
		fprintf(stderr, "the played rig: %s\n", ground ? ground->why : error.text);
		abort();
	}
	return ground;
}

static void limit_alarm(struct rv_station *station, const char *name, double ratio,
			enum rv_alarm_level level)
{
	struct rv_alarm_rule *made = &station->alarm[station->alarms++];

	snprintf(made->name, sizeof made->name, "%s", name);
	snprintf(made->component, sizeof made->component, "any");
	made->channel = -1;
	made->limit = ratio;
	made->level = level;
}

static void channel(struct rv_station *station, const char *name, enum rv_quantity quantity,
		    const char *unit)
{
	struct rv_channel *made = &station->channel[station->channels++];

	snprintf(made->name, sizeof made->name, "%s", name);
	snprintf(made->unit, sizeof made->unit, "%s", unit);
	made->quantity = quantity;
	if (quantity == RV_TENSION)
		snprintf(made->cell, sizeof made->cell, "%s", name);
}

void played_station(struct rv_station *station, int port)
{
	memset(station, 0, sizeof *station);
	snprintf(station->name, sizeof station->name, "Quarry test yard");
	snprintf(station->record, sizeof station->record, "quarry.db");
	snprintf(station->listen, sizeof station->listen, "127.0.0.1");
	station->port = port;
	station->unit = RV_FORCE_KN;
	station->devices = 1;
	snprintf(station->device[0].name, RV_NAME_SIZE, "cells");
	snprintf(station->device[0].address, RV_NAME_SIZE, "127.0.0.1");
	limit_alarm(station, "line near limit", 0.8, RV_LEVEL_WARNING);
	limit_alarm(station, "line over limit", 1.0, RV_LEVEL_DANGER);
	channel(station, "lead", RV_TENSION, "N");
	channel(station, "dead", RV_TENSION, "N");
	channel(station, "payout", RV_PAYOUT, "m");
}
