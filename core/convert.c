/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/convert.h"

#include <math.h>
#include <string.h>

/* `updates`: the same number is a new reading only when one and a half of the instrument's periods
 * have passed: it has no clock in common with whoever asks. */
#define REPEAT_PERIODS 1.5

void rv_convert_init(struct rv_convert *convert, const struct rv_channel *channel)
{
	memset(convert, 0, sizeof *convert);
	convert->channel = channel;
	convert->conversion = channel->calibration.conversion;
	convert->last_raw = convert->seen_raw = convert->good = convert->last = NAN;
}

void rv_convert_set(struct rv_convert *convert, const struct rv_conversion *conversion)
{
	convert->conversion = *conversion;
	convert->rolled_raw = 0.0; /* it is for raw as received: roll-overs so far are in it */
	convert->good = convert->last = NAN; /* the payout stands elsewhere by command */
	convert->jumped = false;
}

static bool is_line_position(const struct rv_channel *channel)
{
	return channel->quantity == RV_PAYOUT;
}

/* Ends of the whole-number types; NaN where there is none.  Zero is no end of an unsigned one. */
static void type_ends(enum rv_number_type type, double *low, double *high)
{
	*low = *high = NAN;
	switch (type) {
	case RV_INT16:
		*low = INT16_MIN;
		*high = INT16_MAX;
		break;
	case RV_UINT16:
		*high = UINT16_MAX;
		break;
	case RV_INT32:
		*low = INT32_MIN;
		*high = INT32_MAX;
		break;
	case RV_UINT32:
		*high = UINT32_MAX;
		break;
	case RV_INT64:
		*low = (double)INT64_MIN;
		*high = (double)INT64_MAX;
		break;
	case RV_FLOAT32:
	case RV_FLOAT64:
		break;
	}
}

static bool is_beyond_instrument(const struct rv_channel *channel, const struct rv_raw *raw,
				 double value)
{
	double low, high;

	if (channel->quantity != RV_TENSION)
		return false;
	if (value > channel->capacity || value < -RV_CONVERT_BELOW_ZERO_RATIO * channel->capacity)
		return true;
	if (raw->kind != RV_RAW_INT || channel->field[0] != '\0')
		return false;
	type_ends(channel->type, &low, &high);
	return (double)raw->count <= low || (double)raw->count >= high;
}

/* Adds what the counter rolled over since the last reading.  False: a number it cannot hold. */
static bool unroll(struct rv_convert *convert, double raw, struct rv_reading *reading)
{
	double period = convert->channel->wraps_at;

	if (isnan(period))
		return true;
	if (fabs(raw) > period)
		return false;
	double step = raw - convert->last_raw; /* NaN at the first */
	if (step > period / 2.0)
		convert->rolled_raw -= period;
	if (step < -period / 2.0)
		convert->rolled_raw += period;
	reading->rolled_over = fabs(step) > period / 2.0;
	convert->last_raw = raw;
	return true;
}

static bool is_within_reach(const struct rv_convert *convert, double from, double to, double dt_s)
{
	double step = rv_convert_step(convert->channel);
	double margin =
	    RV_CONVERT_FASTEST_MPS * RV_CONVERT_LATE_S + (isnan(step) ? 0.0 : 2.0 * step);

	return fabs(to - from) <= RV_CONVERT_FASTEST_MPS * dt_s + margin;
}

/* False: no line runs that fast. */
static bool pass_jump(struct rv_convert *convert, double value, int64_t mono_ns,
		      struct rv_reading *reading)
{
	double dt_s = (double)(mono_ns - convert->last_ns) * 1e-9;
	double good_s = fmin((double)(mono_ns - convert->good_ns) * 1e-9, 2.0 * RV_CONVERT_LATE_S);
	bool jumps = !isnan(convert->last) && !is_within_reach(convert, convert->last, value, dt_s);

	if (jumps)
		convert->jump_ns = mono_ns;
	convert->last = value;
	convert->last_ns = mono_ns;
	if (jumps && !convert->jumped) {
		convert->jumped = true;
		return false;
	}
	if (convert->jumped) {
		/* Back where it was: a spike.  The line did not run on at full speed meanwhile. */
		bool back = is_within_reach(convert, convert->good, value, good_s);
		bool settled = (double)(mono_ns - convert->jump_ns) >= RV_CONVERT_REBASE_S * 1e9;
		if (!back && !settled)
			return false;
		reading->restarted = !back;
		convert->jumped = false;
	}
	convert->good = value;
	convert->good_ns = mono_ns;
	return true;
}

static void spoil(struct rv_reading *reading, enum rv_cause cause)
{
	reading->value = NAN;
	reading->quality = RV_BAD;
	reading->cause = cause;
}

static void judge(struct rv_convert *convert, const struct rv_value *value, int64_t mono_ns,
		  struct rv_reading *reading)
{
	const struct rv_channel *channel = convert->channel;

	if (!isfinite(reading->raw)) {
		spoil(reading, RV_CAUSE_NOT_A_NUMBER);
		return;
	}
	if (!unroll(convert, reading->raw, reading)) {
		spoil(reading, RV_CAUSE_OUT_OF_RANGE);
		return;
	}
	reading->value =
	    rv_station_convert(&convert->conversion, reading->raw + convert->rolled_raw);
	if (!isfinite(reading->value))
		spoil(reading, RV_CAUSE_NOT_A_NUMBER);
	else if (is_line_position(channel) && !pass_jump(convert, reading->value, mono_ns, reading))
		spoil(reading, RV_CAUSE_JUMP);
	else if (is_beyond_instrument(channel, &value->raw, reading->value)) {
		reading->quality = RV_UNCERTAIN;
		reading->cause = RV_CAUSE_OUT_OF_RANGE;
	}
}

static bool is_repeat(struct rv_convert *convert, double raw, int64_t mono_ns)
{
	double period_ns = 1e9 / convert->channel->updates_hz; /* NaN when not said */

	if (fabs(raw - convert->seen_raw) <= 0.0) {
		if ((double)(mono_ns - convert->new_ns) < REPEAT_PERIODS * period_ns)
			return true;
		if (!isnan(period_ns)) { /* the next is due one period after this one was */
			convert->new_ns = mono_ns - (int64_t)((REPEAT_PERIODS - 1.0) * period_ns);
			return false;
		}
	}
	convert->seen_raw = raw;
	convert->new_ns = mono_ns;
	return false;
}

bool rv_convert_take(struct rv_convert *convert, const struct rv_value *value, int64_t mono_ns,
		     struct rv_reading *reading)
{
	struct rv_reading found = {.value = NAN,
				   .raw = rv_sample_number(value->raw),
				   .quality = value->quality,
				   .cause = value->cause};

	if (value->quality == RV_BAD) {
		*reading = found;
		return true;
	}
	if (value->raw.kind == RV_RAW_NONE)
		return false;
	judge(convert, value, mono_ns, &found);
	found.repeat = is_repeat(convert, found.raw, mono_ns);
	*reading = found;
	return true;
}

struct rv_conversion rv_convert_in_force(const struct rv_convert *convert)
{
	struct rv_conversion shifted = convert->conversion;

	/* Taylor's shift: the polynomial in raw + rolled, written as one in raw (Horner). */
	for (int i = 0; i < shifted.degree; i++)
		for (int k = shifted.degree - 1; k >= i; k--)
			shifted.a[k] += shifted.a[k + 1] * convert->rolled_raw;
	return shifted;
}

double rv_convert_step(const struct rv_channel *channel)
{
	if (channel->wire_unit[0] != '\0') /* the device sends the unit itself */
		return NAN;
	return fabs(channel->calibration.conversion.a[1]);
}
