/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/vitals.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* An instrument's clock and the line may bring its next reading a little early. */
static const double EARLY_RATIO = 0.9;

/* FNV-1a, 64 bits: offset basis and prime from memory, not re-read; any good mixing would do. */
static uint64_t mark_of(struct rv_vitals_piece piece)
{
	const unsigned char *bytes = piece.bytes;
	uint64_t mark = UINT64_C(14695981039346656037);

	for (size_t i = 0; i < piece.len; i++)
		mark = (mark ^ bytes[i]) * UINT64_C(1099511628211);
	return mark;
}

static bool is_word(struct rv_vitals_piece piece, const char *word)
{
	return piece.len == strlen(word) && memcmp(piece.bytes, word, piece.len) == 0;
}

static bool is_same_unit(struct rv_vitals_piece piece, const char *unit)
{
	const char *text = piece.bytes;
	size_t len = piece.len;

	while (len && isspace((unsigned char)*text)) {
		text++;
		len--;
	}
	while (len && isspace((unsigned char)text[len - 1]))
		len--;
	return len == strlen(unit) && strncasecmp(text, unit, len) == 0;
}

static bool is_status_good(const struct rv_channel *channel, struct rv_vitals_piece status)
{
	if (!channel->good_when.field[0])
		return true;
	for (int i = 0; status.bytes && i < channel->good_when.words; i++)
		if (is_word(status, channel->good_when.word[i]))
			return true;
	return false;
}

static bool is_alive(struct rv_vitals *vitals, const struct rv_channel *channel,
		     struct rv_vitals_piece alive, int64_t mono_ns)
{
	if (!channel->alive.used)
		return true;
	if (alive.bytes) {
		uint64_t mark = mark_of(alive);
		if (!vitals->has_alive || mark != vitals->alive_mark)
			vitals->alive_changed_ns = mono_ns;
		vitals->has_alive = true;
		vitals->alive_mark = mark;
	}
	return vitals->has_alive && (double)(mono_ns - vitals->alive_changed_ns) <=
					channel->alive.changes_within_s * 1e9;
}

static bool is_same(struct rv_raw a, struct rv_raw b)
{
	if (a.kind != b.kind)
		return false;
	return a.kind == RV_RAW_INT ? a.count == b.count : rv_sample_is_same(a.real, b.real);
}

static bool is_repeat(const struct rv_vitals *vitals, const struct rv_channel *channel,
		      struct rv_raw raw, int64_t mono_ns)
{
	return vitals->has_last && !isnan(channel->updates_hz) && is_same(raw, vitals->last) &&
	       (double)(mono_ns - vitals->last_new_ns) < EARLY_RATIO * 1e9 / channel->updates_hz;
}

void rv_vitals_judge(struct rv_vitals *vitals, const struct rv_channel *channel,
		     const struct rv_vitals_seen *seen, int64_t mono_ns, struct rv_value *value)
{
	/* Always looked at, so that the sign of life is followed through bad readings too. */
	bool alive = is_alive(vitals, channel, seen->alive, mono_ns);

	value->quality = RV_BAD;
	if (!seen->is_number) {
		value->cause = RV_CAUSE_NOT_A_NUMBER;
		value->raw = (struct rv_raw){.kind = RV_RAW_NONE};
	} else if (seen->unit.bytes && channel->wire_unit[0] &&
		   !is_same_unit(seen->unit, channel->wire_unit)) {
		value->cause = RV_CAUSE_UNIT;
	} else if (!is_status_good(channel, seen->status)) {
		value->cause = RV_CAUSE_STATUS;
	} else if (!alive) {
		value->cause = RV_CAUSE_FROZEN;
	} else {
		value->quality = RV_GOOD;
		value->cause = RV_CAUSE_NONE;
	}
	if (value->quality == RV_BAD) {
		vitals->has_last = false;
		return;
	}
	if (value->raw.kind == RV_RAW_NONE)
		return;
	if (is_repeat(vitals, channel, value->raw, mono_ns)) {
		value->raw = (struct rv_raw){.kind = RV_RAW_NONE};
		return;
	}
	vitals->has_last = true;
	vitals->last = value->raw;
	vitals->last_new_ns = mono_ns;
}
