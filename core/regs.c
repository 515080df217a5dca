/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/regs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A stretch that somebody needs whole. */
struct span {
	enum rv_register_space space;
	int address, count;
	struct rv_regs_place *place; /* to be told where it went */
};

struct spans {
	int count;
	struct span span[RV_REGS_REQUESTS];
};

int rv_regs_words(enum rv_number_type type)
{
	static const int words[] = {
	    [RV_INT16] = 1,   [RV_UINT16] = 1, [RV_INT32] = 2,	[RV_UINT32] = 2,
	    [RV_FLOAT32] = 2, [RV_INT64] = 4,  [RV_FLOAT64] = 4};

	return words[type];
}

bool rv_regs_is_bits(enum rv_register_space space)
{
	return space == RV_REGISTER_DISCRETE || space == RV_REGISTER_COIL;
}

int rv_regs_bytes(const struct rv_regs_request *request)
{
	return rv_regs_is_bits(request->space) ? (request->count + 7) / 8 : 2 * request->count;
}

static void add_span(struct spans *spans, const struct rv_register *source, int count,
		     struct rv_regs_place *place)
{
	if (rv_regs_is_bits(source->space) || source->bit >= 0)
		count = 1;
	spans->span[spans->count++] = (struct span){source->space, source->address, count, place};
}

static int by_place(const void *a, const void *b)
{
	const struct span *x = a, *y = b;

	if (x->space != y->space)
		return x->space < y->space ? -1 : 1;
	if (x->address != y->address)
		return x->address < y->address ? -1 : 1;
	return 0;
}

/* Whether the span can join the request, which starts at or before it. */
static bool fits(const struct rv_regs_request *request, const struct span *span, bool bridge)
{
	bool bits = rv_regs_is_bits(span->space);
	int gap = bridge ? (bits ? RV_REGS_GAP_BITS : RV_REGS_GAP_WORDS) : 0;
	int most = bits ? RV_REGS_BITS : RV_REGS_WORDS;

	return request->space == span->space &&
	       span->address - (request->address + request->count) <= gap &&
	       span->address + span->count - request->address <= most;
}

static bool is_told_apart(const struct rv_regs_plan *plan, int which)
{
	const struct rv_regs_request *own = &plan->request[which];

	for (int i = 0; i < which; i++)
		if (plan->request[i].space == own->space &&
		    rv_regs_bytes(&plan->request[i]) == rv_regs_bytes(own))
			return false;
	return true;
}

static void tell_answers_apart(struct rv_regs_plan *plan)
{
	for (int i = 1; i < plan->requests; i++) {
		struct rv_regs_request *own = &plan->request[i];
		bool bits = rv_regs_is_bits(own->space);
		int most = bits ? RV_REGS_BITS : RV_REGS_WORDS;
		int step = bits ? 8 : 1;
		int before = own->count;
		while (!is_told_apart(plan, i) && own->count + step <= most &&
		       own->address + own->count + step <= 65536)
			own->count += step;
		if (!is_told_apart(plan, i))
			own->count = before;
	}
}

enum rv_err rv_regs_plan(const struct rv_station *station, int device, bool bridge,
			 struct rv_regs_plan *plan, struct rv_error *error)
{
	struct spans spans = {0};
	struct rv_regs_plan made = {0};

	for (int i = 0; i < station->channels; i++) {
		const struct rv_channel *channel = &station->channel[i];
		if (channel->device != device)
			continue;
		int place = made.values++;
		made.alive[place].request = -1;
		int words = rv_regs_words(channel->type);
		add_span(&spans, &channel->source, words, &made.value[place]);
		if (channel->alive.used)
			add_span(&spans, &channel->alive.source, 1, &made.alive[place]);
	}
	qsort(spans.span, (size_t)spans.count, sizeof spans.span[0], by_place);
	for (int i = 0; i < spans.count; i++) {
		const struct span *span = &spans.span[i];
		struct rv_regs_request *last = &made.request[made.requests - (made.requests > 0)];
		int end = span->address + span->count;
		if (span->address < 0 || end > 65536)
			return rv_err_set(error, RV_ERR_RANGE,
					  "%s: register %d: addresses end at 65535",
					  station->device[device].name, end - 1);
		if (made.requests == 0 || !fits(last, span, bridge)) {
			last = &made.request[made.requests++];
			*last = (struct rv_regs_request){span->space, span->address, 0};
		}
		if (end - last->address > last->count)
			last->count = end - last->address;
		*span->place =
		    (struct rv_regs_place){made.requests - 1, span->address - last->address};
	}
	if (bridge)
		tell_answers_apart(&made);
	*plan = made;
	return RV_OK;
}

/* The registers as one number, most significant byte first. */
static uint64_t put_in_order(const uint16_t *words, int count, enum rv_byte_order order)
{
	bool swap_bytes = order == RV_ORDER_BADC || order == RV_ORDER_DCBA;
	bool swap_words = order == RV_ORDER_CDAB || order == RV_ORDER_DCBA;
	uint64_t number = 0;

	for (int i = 0; i < count; i++) {
		unsigned int word = words[swap_words ? count - 1 - i : i];
		if (swap_bytes)
			word = (word & 0xff) << 8 | word >> 8;
		number = number << 16 | word;
	}
	return number;
}

static enum rv_err set_real(double real, struct rv_raw *raw)
{
	if (!isfinite(real))
		return RV_ERR_RANGE;
	*raw = (struct rv_raw){.kind = RV_RAW_REAL, .real = real};
	return RV_OK;
}

enum rv_err rv_regs_decode(const uint16_t *words, enum rv_number_type type,
			   enum rv_byte_order order, struct rv_raw *raw)
{
	uint64_t number = put_in_order(words, rv_regs_words(type), order);
	uint32_t half = (uint32_t)number;
	int64_t count = 0;
	float single;
	double real;

	switch (type) {
	case RV_FLOAT32:
		memcpy(&single, &half, sizeof single);
		return set_real((double)single, raw);
	case RV_FLOAT64:
		memcpy(&real, &number, sizeof real);
		return set_real(real, raw);
	case RV_INT16:
		count = (int16_t)number;
		break;
	case RV_INT32:
		count = (int32_t)half;
		break;
	case RV_UINT16:
	case RV_UINT32:
	case RV_INT64:
		count = (int64_t)number;
		break;
	}
	*raw = (struct rv_raw){.kind = RV_RAW_INT, .count = count};
	return RV_OK;
}

struct rv_raw rv_regs_bit(uint16_t word, int bit)
{
	return (struct rv_raw){.kind = RV_RAW_INT, .count = word >> bit & 1};
}
