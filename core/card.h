/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a drawing says beside each place and each leg: name, load, share of the limit, and the word
 * where a limit is near or passed.
 */
#ifndef RV_CORE_CARD_H
#define RV_CORE_CARD_H

#include "core/label.h"
#include "core/scene.h"
#include "core/units.h"

/* From this share of a limit on it is near.  The usual first warning of a station (common practice,
 * no source). */
#define RV_CARD_NEAR_RATIO 0.8

enum { RV_CARD_LINES = 14, RV_CARD_BYTES = 128 };

enum rv_card_use { RV_CARD_BELOW, RV_CARD_NEAR, RV_CARD_OVER };

enum rv_card_kind { RV_CARD_POINT, RV_CARD_LEG, RV_CARD_LOAD, RV_CARD_BIGHT };

struct rv_card {
	enum rv_card_kind kind;
	int index; /* point, leg of the scene, load, or pass */
	bool is_weakest; /* holds the first part to reach its limit */
	enum rv_card_use use; /* the worst of its lines */
	int lines;
	char line[RV_CARD_LINES][RV_CARD_BYTES];
	bool bold[RV_CARD_LINES];
};

struct rv_cards {
	enum rv_force_unit unit;
	int count;
	struct rv_card card[RV_LABELS];
};

/* Cards are no wider than width with letters of that size. */
enum { RV_CARD_LETTER = 13, RV_CARD_LINE_STEP = 16, RV_CARD_WIDTH = 330, RV_CARD_PAD = 3 };

/* The most important first.  Fails when there is more to say than the cards hold (RV_ERR_RANGE). */
enum rv_err rv_card_write(const struct rv_plan *plan, const struct rv_scene *scene,
			  enum rv_force_unit unit, struct rv_cards *cards, struct rv_error *error);

double rv_card_width(const struct rv_card *card);
double rv_card_height(const struct rv_card *card);

/* By the high end of what it carries; below when it is not rated. */
enum rv_card_use rv_card_use(double use_worst_ratio);

/* "23.6 kN" */
void rv_card_force(double force_n, enum rv_force_unit unit, char *word, size_t size);

/* "23.6 kN, 67 % (at worst 71 %) NEAR LIMIT", or "23.6 kN, not rated".  The worst is told when it is
 * two points or more away, or when it alone brings the word. */
void rv_card_load(const struct rv_cards *cards, double load_n, double use_ratio,
		  double use_worst_ratio, char *word, size_t size);

/* Whether its load is that of one of two legs. */
bool rv_card_is_per_leg(const struct rv_plan *plan, int component);

/* What the load is of, for people: the component's kind, but "strop leg" where it is one leg of two. */
const char *rv_card_kind(const struct rv_plan *plan, int component, char *word, size_t size);

/* The point a component is at: where it stands, hangs or is held; -1 for a line. */
int rv_card_place(const struct rv_plan *plan, const struct rv_reeving *reeving, int component);

/* What the leg uses of its line's limit: nominal and at worst.  NaN = not rated. */
void rv_card_leg_use(const struct rv_plan *plan, int plan_leg, double *use_ratio,
		     double *use_worst_ratio);

/* The plan's leg that makes a line the weakest part, or -1. */
int rv_card_weakest_leg(const struct rv_plan *plan);

#endif
