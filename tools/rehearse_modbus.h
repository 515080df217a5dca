/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answering half of Modbus, for played instruments only.  No port in here: a request's bytes
 * become a reply's bytes.
 *
 * After the Modbus application protocol specification V1.1b3 (functions 1 to 6, 15, 16, exceptions)
 * and the Modbus over serial line specification V1.02 (CRC); from memory, not re-read, and checked
 * in tests against two independent clients.
 */
#ifndef RV_TOOLS_REHEARSE_MODBUS_H
#define RV_TOOLS_REHEARSE_MODBUS_H

#include <stddef.h>

#include "tools/rehearse_script.h"

enum {
	RV_REHEARSE_PDU = 253,	 /* most bytes of a function and its data */
	RV_REHEARSE_FRAME = 260, /* with address and header or CRC */
	RV_REHEARSE_BAD_FUNCTION = 1,
	RV_REHEARSE_BAD_ADDRESS = 2,
	RV_REHEARSE_BAD_VALUE = 3,
	RV_REHEARSE_NO_TARGET = 11, /* gateway: the unit behind it does not answer */
};

/* An instrument's registers: the declaration and the number each field shows now (on the wire:
 * zero and per_count are applied already). */
struct rv_rehearse_image {
	const struct rv_rehearse_instrument *instrument;
	double *shown; /* one for each field; a write changes it */
};

/* Length of a whole request's function and data as far as its first bytes tell: 0 = too few
 * bytes yet, -1 = no such function. */
int rv_rehearse_modbus_length(const uint8_t *pdu, size_t len);

/* Answers a whole request (function and data); returns the length of the reply. *wrote says whether
 * it was a write that was carried out. */
size_t rv_rehearse_modbus_answer(struct rv_rehearse_image image, const uint8_t *pdu, size_t len,
				 uint8_t reply[RV_REHEARSE_PDU], bool *wrote);

/* An exception instead. */
size_t rv_rehearse_modbus_refuse(uint8_t function, int code, uint8_t reply[RV_REHEARSE_PDU]);

uint16_t rv_rehearse_modbus_crc(const uint8_t *bytes, size_t len);

/* A number as the wire's bytes for its registers, most significant first, in the order declared;
 * returns the number of bytes.  Whole numbers are rounded and held at the ends of their range. */
size_t rv_rehearse_modbus_encode(const struct rv_rehearse_field *field, double shown,
				 uint8_t bytes[8]);

#endif
