/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_modbus.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
	READ_COILS = 1,
	READ_DISCRETE = 2,
	READ_HOLDING = 3,
	READ_INPUT = 4,
	WRITE_COIL = 5,
	WRITE_REGISTER = 6,
	WRITE_COILS = 15,
	WRITE_REGISTERS = 16,
	MOST_BITS = 2000,
	MOST_REGISTERS = 125,
};

static unsigned word_at(const uint8_t *bytes)
{
	return (unsigned)bytes[0] << 8 | bytes[1];
}

static void put_word(uint8_t *bytes, unsigned word)
{
	bytes[0] = (uint8_t)(word >> 8);
	bytes[1] = (uint8_t)word;
}

int rv_rehearse_modbus_length(const uint8_t *pdu, size_t len)
{
	if (len == 0)
		return 0;
	if (pdu[0] >= READ_COILS && pdu[0] <= WRITE_REGISTER)
		return 5;
	if (pdu[0] != WRITE_COILS && pdu[0] != WRITE_REGISTERS)
		return -1;
	return len < 6 ? 0 : 6 + pdu[5];
}

uint16_t rv_rehearse_modbus_crc(const uint8_t *bytes, size_t len)
{
	unsigned crc = 0xffff;

	for (size_t i = 0; i < len; i++) {
		crc ^= bytes[i];
		for (int bit = 0; bit < 8; bit++)
			crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
	}
	return (uint16_t)crc;
}

static int width_of(enum rv_rehearse_type type)
{
	static const int bytes[] = {2, 2, 4, 4, 4, 8, 8};
	return bytes[type];
}

static double held_between(double low, double value, double high)
{
	return fmin(fmax(value, low), high);
}

static uint64_t bits_of(enum rv_rehearse_type type, double value)
{
	uint64_t bits = 0;

	switch (type) {
	case RV_REHEARSE_INT16:
		return (uint64_t)(int64_t)held_between(INT16_MIN, round(value), INT16_MAX);
	case RV_REHEARSE_UINT16:
		return (uint64_t)held_between(0, round(value), UINT16_MAX);
	case RV_REHEARSE_INT32:
		return (uint64_t)(int64_t)held_between(INT32_MIN, round(value), INT32_MAX);
	case RV_REHEARSE_UINT32:
		return (uint64_t)held_between(0, round(value), UINT32_MAX);
	case RV_REHEARSE_FLOAT32: {
		float narrow = (float)value;
		uint32_t narrow_bits;
		memcpy(&narrow_bits, &narrow, sizeof narrow_bits);
		return narrow_bits;
	}
	case RV_REHEARSE_INT64: /* a double reaches whole numbers exactly only up to 2^53 */
		return (uint64_t)(int64_t)held_between(-0x1p62, round(value), 0x1p62);
	case RV_REHEARSE_FLOAT64:
		memcpy(&bits, &value, sizeof bits);
		return bits;
	}
	return bits;
}

size_t rv_rehearse_modbus_encode(const struct rv_rehearse_field *field, double shown,
				 uint8_t bytes[8])
{
	int width = width_of(field->type);
	uint64_t bits = bits_of(field->type, shown);

	for (int i = 0; i < width; i++) {
		int from = i;
		if (field->order == RV_REHEARSE_BADC || field->order == RV_REHEARSE_DCBA)
			from ^= 1;
		if (field->order == RV_REHEARSE_CDAB || field->order == RV_REHEARSE_DCBA)
			from = width - 2 - (from & ~1) + (from & 1);
		bytes[i] = (uint8_t)(bits >> (8 * (width - 1 - from)));
	}
	return (size_t)width;
}

static bool holds_bits(enum rv_rehearse_space space)
{
	return space == RV_REHEARSE_COIL || space == RV_REHEARSE_DISCRETE;
}

static int places_of(const struct rv_rehearse_field *field)
{
	return holds_bits(field->space) || field->bit >= 0 ? 1 : width_of(field->type) / 2;
}

/* The span of addresses an instrument answers for: from its first to its last register, gaps
 * included (they read 0). */
static bool spans(const struct rv_rehearse_instrument *instrument, enum rv_rehearse_space space,
		  unsigned address, unsigned count)
{
	int first = 65536, end = 0;

	for (int i = 0; i < instrument->fields; i++) {
		const struct rv_rehearse_field *field = &instrument->field[i];
		if (field->space != space)
			continue;
		if (field->address < first)
			first = field->address;
		if (field->address + places_of(field) > end)
			end = field->address + places_of(field);
	}
	return (int)address >= first && (int)(address + count) <= end;
}

size_t rv_rehearse_modbus_refuse(uint8_t function, int code, uint8_t reply[RV_REHEARSE_PDU])
{
	reply[0] = function | 0x80;
	reply[1] = (uint8_t)code;
	return 2;
}

static size_t read_bits(struct rv_rehearse_image image, const uint8_t *pdu, uint8_t *reply)
{
	enum rv_rehearse_space space =
	    pdu[0] == READ_COILS ? RV_REHEARSE_COIL : RV_REHEARSE_DISCRETE;
	unsigned address = word_at(pdu + 1), count = word_at(pdu + 3);

	if (count < 1 || count > MOST_BITS)
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_VALUE, reply);
	if (!spans(image.instrument, space, address, count))
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_ADDRESS, reply);
	unsigned bytes = (count + 7) / 8;
	reply[0] = pdu[0];
	reply[1] = (uint8_t)bytes;
	memset(reply + 2, 0, bytes);
	for (int i = 0; i < image.instrument->fields; i++) {
		const struct rv_rehearse_field *field = &image.instrument->field[i];
		int at = field->address - (int)address;
		if (field->space == space && at >= 0 && at < (int)count && image.shown[i] >= 0.5)
			reply[2 + at / 8] |= (uint8_t)(1 << at % 8);
	}
	return 2 + bytes;
}

/* Puts a field's registers into the reply's data where they fall inside the span asked for. */
static void overlay(const struct rv_rehearse_field *field, double shown, int first, int count,
		    uint8_t *data)
{
	uint8_t bytes[8];

	if (field->bit >= 0) {
		ptrdiff_t at = field->address - first;
		if (at >= 0 && at < count && shown >= 0.5)
			put_word(data + 2 * at, word_at(data + 2 * at) | 1U << field->bit);
		return;
	}
	rv_rehearse_modbus_encode(field, shown, bytes);
	for (ptrdiff_t k = 0; k < places_of(field); k++) {
		ptrdiff_t at = field->address + k - first;
		if (at >= 0 && at < count)
			memcpy(data + 2 * at, bytes + 2 * k, 2);
	}
}

static size_t read_registers(struct rv_rehearse_image image, const uint8_t *pdu, uint8_t *reply)
{
	enum rv_rehearse_space space =
	    pdu[0] == READ_HOLDING ? RV_REHEARSE_HOLDING : RV_REHEARSE_INPUT;
	unsigned address = word_at(pdu + 1);
	size_t count = word_at(pdu + 3);

	if (count < 1 || count > MOST_REGISTERS)
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_VALUE, reply);
	if (!spans(image.instrument, space, address, (unsigned)count))
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_ADDRESS, reply);
	reply[0] = pdu[0];
	reply[1] = (uint8_t)(2 * count);
	memset(reply + 2, 0, 2 * count);
	for (int i = 0; i < image.instrument->fields; i++)
		if (image.instrument->field[i].space == space)
			overlay(&image.instrument->field[i], image.shown[i], (int)address,
				(int)count, reply + 2);
	return 2 + 2 * count;
}

/* The field that may be written at that address, or -1. */
static int writable(struct rv_rehearse_image image, enum rv_rehearse_space space, unsigned address)
{
	for (int i = 0; i < image.instrument->fields; i++) {
		const struct rv_rehearse_field *field = &image.instrument->field[i];
		if (field->space == space && field->address == (int)address &&
		    field->shows == RV_REHEARSE_SHOWS_WRITTEN && places_of(field) == 1)
			return i;
	}
	return -1;
}

static size_t write_one(struct rv_rehearse_image image, const uint8_t *pdu, uint8_t *reply,
			bool *wrote)
{
	bool coil = pdu[0] == WRITE_COIL;
	unsigned value = word_at(pdu + 3);
	int at = writable(image, coil ? RV_REHEARSE_COIL : RV_REHEARSE_HOLDING, word_at(pdu + 1));

	if (at < 0)
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_ADDRESS, reply);
	if (coil && value != 0 && value != 0xff00)
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_VALUE, reply);
	image.shown[at] = coil ? value != 0 : value;
	*wrote = true;
	memcpy(reply, pdu, 5);
	return 5;
}

static size_t write_many(struct rv_rehearse_image image, const uint8_t *pdu, uint8_t *reply,
			 bool *wrote)
{
	bool coils = pdu[0] == WRITE_COILS;
	unsigned address = word_at(pdu + 1), count = word_at(pdu + 3);
	unsigned bytes = coils ? (count + 7) / 8 : 2 * count;

	if (count < 1 || bytes != pdu[5])
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_VALUE, reply);
	for (unsigned i = 0; i < count; i++)
		if (writable(image, coils ? RV_REHEARSE_COIL : RV_REHEARSE_HOLDING, address + i) <
		    0)
			return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_ADDRESS, reply);
	for (unsigned i = 0; i < count; i++) {
		int at =
		    writable(image, coils ? RV_REHEARSE_COIL : RV_REHEARSE_HOLDING, address + i);
		image.shown[at] =
		    coils ? pdu[6 + i / 8] >> i % 8 & 1 : (double)word_at(pdu + 6 + 2 * (size_t)i);
	}
	*wrote = true;
	memcpy(reply, pdu, 5);
	return 5;
}

size_t rv_rehearse_modbus_answer(struct rv_rehearse_image image, const uint8_t *pdu, size_t len,
				 uint8_t reply[RV_REHEARSE_PDU], bool *wrote)
{
	*wrote = false;
	if (rv_rehearse_modbus_length(pdu, len) != (int)len)
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_VALUE, reply);
	switch (pdu[0]) {
	case READ_COILS:
	case READ_DISCRETE:
		return read_bits(image, pdu, reply);
	case READ_HOLDING:
	case READ_INPUT:
		return read_registers(image, pdu, reply);
	case WRITE_COIL:
	case WRITE_REGISTER:
		return write_one(image, pdu, reply, wrote);
	case WRITE_COILS:
	case WRITE_REGISTERS:
		return write_many(image, pdu, reply, wrote);
	default:
		return rv_rehearse_modbus_refuse(pdu[0], RV_REHEARSE_BAD_FUNCTION, reply);
	}
}
