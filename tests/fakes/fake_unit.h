/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A Modbus unit that misbehaves on purpose, in a thread of its own, on a pseudo-terminal (RTU) or a
 * loopback socket (TCP).  Framing, checksum and values are its own: it shares no code with what it
 * tests.  It answers one question after the other, in order, as units do.
 *
 * Values show every swap and every staleness: of each pair of registers the even one holds its own
 * address plus 1 and the odd one the low 16 bits of the number of questions received so far, this one
 * included.  A unit with `single` set holds that number in every register.  Bits are all 1.
 */
#ifndef RV_TESTS_FAKE_UNIT_H
#define RV_TESTS_FAKE_UNIT_H

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

enum fake_fault {
	FAKE_NONE,
	FAKE_SILENT,	  /* no answer */
	FAKE_BAD_CRC,	  /* RTU */
	FAKE_HALF,	  /* half of the answer */
	FAKE_GARBAGE,	  /* noise before the answer */
	FAKE_WRONG_UNIT,  /* another unit's answer */
	FAKE_WRONG_COUNT, /* an answer with one register less */
	FAKE_TWICE,	  /* the answer twice over */
	FAKE_EXCEPTION,	  /* "illegal data address" */
	FAKE_BUSY,	  /* "server device busy" */
	FAKE_TRICKLE,	  /* a byte each trickle_ns */
	FAKE_HANG_UP,	  /* TCP: closes the connection */
};

struct fake_unit {
	/* Set before the start; not changed afterwards. */
	int unit;
	bool single;
	bool answers_others;	 /* false: silent to functions other than `function` */
	int function;
	int highest;		 /* last register there is; 0 = all.  Beyond: exception 2 */
	double late_ratio;	 /* share of answers that come late ... */
	int64_t late_min_ns, late_max_ns; /* ... after this time, evenly spread */
	bool drops_while_busy;	 /* forgets what it was asked while it was late */
	double fault_ratio;	 /* share of answers with the fault */
	int64_t trickle_ns;
	uint64_t seed;
	/* May be changed at any time. */
	_Atomic enum fake_fault fault;
	/* Results. */
	char path[64]; /* RTU: the far end of the pseudo-terminal */
	int port;      /* TCP */
	atomic_uint received, late;
	atomic_uint coil; /* last value written by function 5 */
	/* Its own. */
	bool is_tcp;
	int file, listener;
	atomic_bool stopping;
	pthread_t thread;
	unsigned char in[512];
	int in_len;
};

/* 0, or -1 when the system refused. */
int fake_unit_start_rtu(struct fake_unit *fake);
int fake_unit_start_tcp(struct fake_unit *fake);
void fake_unit_stop(struct fake_unit *fake);

#endif
