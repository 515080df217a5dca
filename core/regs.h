/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * 16-bit Modbus registers -> numbers, and the plan of requests that covers a device's registers.
 *
 * Limits of one request are those of the Modbus Application Protocol Specification V1.1b3,
 * sections 6.1 to 6.4: 125 registers, 2000 bits (from memory, not re-read).
 *
 * Byte orders: the letters say in which order the bytes of the number, most significant first
 * (A, B, C, D), come over the wire.  Over 64 bits they go on in the same way: abcd = ABCDEFGH,
 * badc = BADCFEHG (bytes swapped in each register), cdab = GHEFCDAB (registers reversed),
 * dcba = HGFEDCBA.  A 16-bit number is AB under abcd and cdab, BA under badc and dcba.  For 32 bits
 * the four names are common practice without a standard; so is carrying them on to 64 bits.
 */
#ifndef RV_CORE_REGS_H
#define RV_CORE_REGS_H

#include <stdint.h>

#include "core/sample.h"
#include "core/station.h"

enum {
	RV_REGS_WORDS = 125,		   /* registers in one request */
	RV_REGS_BITS = 2000,		   /* bits in one request */
	RV_REGS_GAP_WORDS = 8,		   /* a gap up to this costs less than another request */
	RV_REGS_GAP_BITS = 128,
	RV_REGS_REQUESTS = 2 * RV_CHANNELS, /* each channel may need one for itself and its alive */
};

/* One contiguous read. */
struct rv_regs_request {
	enum rv_register_space space;
	int address; /* protocol address, from 0 */
	int count;   /* registers, or bits */
};

/* Where a value stands in the answers; request = -1: not read. */
struct rv_regs_place {
	int request;
	int offset; /* registers or bits from the request's address */
};

struct rv_regs_plan {
	int requests, values;
	struct rv_regs_request request[RV_REGS_REQUESTS];
	struct rv_regs_place value[RV_CHANNELS]; /* by place of the channel in the device's messages */
	struct rv_regs_place alive[RV_CHANNELS];
};

/* Registers that a number of the type takes: 1, 2 or 4. */
int rv_regs_words(enum rv_number_type type);

/* Are they bits rather than registers? */
bool rv_regs_is_bits(enum rv_register_space space);

/* Bytes of data in the answer to a request. */
int rv_regs_bytes(const struct rv_regs_request *request);

/* Fills plan with the fewest requests that cover the registers of the device's channels and of
 * their `alive`, in order of space and address.  No number is ever split between two requests.
 * bridge: read over gaps of undeclared registers up to RV_REGS_GAP_*, and lengthen a request by one
 * register (8 bits) where its answer would be as long as that of another one of the same space, so
 * that a late answer cannot be taken for the other's.  Without it nothing undeclared is read, for
 * instruments that refuse that.
 * RV_ERR_RANGE: a register that ends beyond address 65535. */
enum rv_err rv_regs_plan(const struct rv_station *station, int device, bool bridge,
			 struct rv_regs_plan *plan, struct rv_error *error);

/* The number in rv_regs_words(type) registers as received: RV_RAW_INT for whole numbers (uint32 and
 * int64 keep every digit), RV_RAW_REAL for floating ones.
 * RV_ERR_RANGE: NaN or infinite; raw untouched. */
enum rv_err rv_regs_decode(const uint16_t *words, enum rv_number_type type,
			   enum rv_byte_order order, struct rv_raw *raw);

/* One bit of a register, 0 = least significant of the register as received: 0 or 1. */
struct rv_raw rv_regs_bit(uint16_t word, int bit);

#endif
