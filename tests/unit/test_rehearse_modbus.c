/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_modbus.h"

#include <string.h>

#include "tests/rvtest.h"

/* 1234.5625 = 0x449a5200 and 1234.5625 = 0x40934a4000000000 by IEEE 754, worked out by hand:
 * 1234.5625 = 1.2056274414 * 2^10; -123456789 = 0xf8a432eb in two's complement. */
static void numbers_lie_on_the_wire_in_every_order(void **state)
{
	static const struct {
		const char *label;
		enum rv_rehearse_type type;
		enum rv_rehearse_order order;
		double number;
		size_t len;
		uint8_t bytes[8];
	} rows[] = {
	    {"float32 abcd",
	     RV_REHEARSE_FLOAT32,
	     RV_REHEARSE_ABCD,
	     1234.5625,
	     4,
	     {0x44, 0x9a, 0x52, 0}},
	    {"float32 badc",
	     RV_REHEARSE_FLOAT32,
	     RV_REHEARSE_BADC,
	     1234.5625,
	     4,
	     {0x9a, 0x44, 0, 0x52}},
	    {"float32 cdab",
	     RV_REHEARSE_FLOAT32,
	     RV_REHEARSE_CDAB,
	     1234.5625,
	     4,
	     {0x52, 0, 0x44, 0x9a}},
	    {"float32 dcba",
	     RV_REHEARSE_FLOAT32,
	     RV_REHEARSE_DCBA,
	     1234.5625,
	     4,
	     {0, 0x52, 0x9a, 0x44}},
	    {"int32 abcd",
	     RV_REHEARSE_INT32,
	     RV_REHEARSE_ABCD,
	     -123456789,
	     4,
	     {0xf8, 0xa4, 0x32, 0xeb}},
	    {"int32 dcba",
	     RV_REHEARSE_INT32,
	     RV_REHEARSE_DCBA,
	     -123456789,
	     4,
	     {0xeb, 0x32, 0xa4, 0xf8}},
	    {"int16 abcd", RV_REHEARSE_INT16, RV_REHEARSE_ABCD, -2, 2, {0xff, 0xfe}},
	    {"int16 badc", RV_REHEARSE_INT16, RV_REHEARSE_BADC, -2, 2, {0xfe, 0xff}},
	    {"int16 cdab", RV_REHEARSE_INT16, RV_REHEARSE_CDAB, -2, 2, {0xff, 0xfe}},
	    {"uint16 full", RV_REHEARSE_UINT16, RV_REHEARSE_ABCD, 99999, 2, {0xff, 0xff}},
	    {"int16 full", RV_REHEARSE_INT16, RV_REHEARSE_ABCD, 99999, 2, {0x7f, 0xff}},
	    {"float64 abcd",
	     RV_REHEARSE_FLOAT64,
	     RV_REHEARSE_ABCD,
	     1234.5625,
	     8,
	     {0x40, 0x93, 0x4a, 0x40}},
	    {"float64 cdab",
	     RV_REHEARSE_FLOAT64,
	     RV_REHEARSE_CDAB,
	     1234.5625,
	     8,
	     {0, 0, 0, 0, 0x4a, 0x40, 0x40, 0x93}},
	    {"float64 dcba",
	     RV_REHEARSE_FLOAT64,
	     RV_REHEARSE_DCBA,
	     1234.5625,
	     8,
	     {0, 0, 0, 0, 0x40, 0x4a, 0x93, 0x40}},
	    {"int64 badc",
	     RV_REHEARSE_INT64,
	     RV_REHEARSE_BADC,
	     0x0102030405060700p0,
	     8,
	     {2, 1, 4, 3, 6, 5, 0, 7}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_rehearse_field field = {
		    .type = rows[i].type, .order = rows[i].order, .bit = -1};
		uint8_t bytes[8] = {0};
		print_message("%s\n", rows[i].label);
		assert_int_equal(rv_rehearse_modbus_encode(&field, rows[i].number, bytes),
				 rows[i].len);
		assert_memory_equal(bytes, rows[i].bytes, rows[i].len);
	}
}

/* Check value 0x4b37 of "123456789": catalogue of parametrised CRC algorithms, CRC-16/MODBUS; from
 * memory, and confirmed on the wire by the independent clients. */
static void the_checksum_gives_its_check_value(void **state)
{
	(void)state;
	assert_int_equal(rv_rehearse_modbus_crc((const uint8_t *)"123456789", 9), 0x4b37);
}

static struct rv_rehearse_instrument box(void)
{
	struct rv_rehearse_instrument box = {.unit = 1, .fields = 4};

	box.field[0] = (struct rv_rehearse_field){
	    .space = RV_REHEARSE_INPUT, .address = 10, .type = RV_REHEARSE_UINT16, .bit = -1};
	box.field[1] = (struct rv_rehearse_field){
	    .space = RV_REHEARSE_INPUT, .address = 12, .type = RV_REHEARSE_UINT16, .bit = 3};
	box.field[2] = (struct rv_rehearse_field){
	    .space = RV_REHEARSE_COIL, .address = 0, .bit = -1, .shows = RV_REHEARSE_SHOWS_WRITTEN};
	box.field[3] =
	    (struct rv_rehearse_field){.space = RV_REHEARSE_DISCRETE, .address = 7, .bit = -1};
	return box;
}

static void requests_get_their_answers_and_refusals(void **state)
{
	static const struct {
		const char *label;
		size_t len;
		uint8_t request[8];
		size_t reply_len;
		uint8_t reply[10];
	} rows[] = {
	    {"input 10 to 12, a gap between",
	     5,
	     {4, 0, 10, 0, 3},
	     8,
	     {4, 6, 0x12, 0x34, 0, 0, 0, 8}},
	    {"past the end", 5, {4, 0, 12, 0, 2}, 2, {0x84, 2}},
	    {"before the start", 5, {4, 0, 9, 0, 2}, 2, {0x84, 2}},
	    {"no register", 5, {4, 0, 10, 0, 0}, 2, {0x84, 3}},
	    {"too many registers", 5, {4, 0, 10, 0, 126}, 2, {0x84, 3}},
	    {"no holding registers here", 5, {3, 0, 10, 0, 1}, 2, {0x83, 2}},
	    {"discrete 7", 5, {2, 0, 7, 0, 1}, 3, {2, 1, 1}},
	    {"coil 0 set", 5, {5, 0, 0, 0xff, 0}, 5, {5, 0, 0, 0xff, 0}},
	    {"coil 0 read", 5, {1, 0, 0, 0, 1}, 3, {1, 1, 1}},
	    {"coil 0 set to nonsense", 5, {5, 0, 0, 0x12, 0}, 2, {0x85, 3}},
	    {"an input cannot be written", 5, {6, 0, 10, 0, 1}, 2, {0x86, 2}},
	    {"several coils, one unknown", 7, {15, 0, 0, 0, 2, 1, 3}, 2, {0x8f, 2}},
	    {"several coils", 7, {15, 0, 0, 0, 1, 1, 0}, 5, {15, 0, 0, 0, 1}},
	    {"a count that does not fit", 7, {15, 0, 0, 0, 99, 1, 0}, 2, {0x8f, 3}},
	    {"no such function", 5, {43, 0, 0, 0, 1}, 2, {0xab, 3}},
	};
	struct rv_rehearse_instrument instrument = box();
	double shown[RV_REHEARSE_FIELDS] = {0x1234, 1, 0, 1};
	struct rv_rehearse_image image = {&instrument, shown};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		uint8_t reply[RV_REHEARSE_PDU];
		bool wrote;
		print_message("%s\n", rows[i].label);
		assert_int_equal(
		    rv_rehearse_modbus_answer(image, rows[i].request, rows[i].len, reply, &wrote),
		    rows[i].reply_len);
		assert_memory_equal(reply, rows[i].reply, rows[i].reply_len);
		assert_int_equal(wrote, reply[0] == 5 || reply[0] == 15);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(numbers_lie_on_the_wire_in_every_order),
	    cmocka_unit_test(the_checksum_gives_its_check_value),
	    cmocka_unit_test(requests_get_their_answers_and_refusals),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
