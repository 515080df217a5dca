/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <pthread.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/ring.h"

enum { PUTTERS = 4, EACH = 20000, ROOM = 64 };

struct item {
	int who;
	int number;
	char filling[40];
};

struct putter {
	struct rv_ring *ring;
	int who;
	int refused;
};

static int64_t soon(int64_t ms)
{
	return rv_clock_mono_ns() + ms * 1000000;
}

static void items_come_out_in_the_order_they_went_in(void **state)
{
	struct rv_ring *ring;
	int out[8];
	int next = 0, want = 0;

	(void)state;
	assert_int_equal(rv_ring_new(sizeof(int), 5, &ring), RV_OK);
	for (int round = 0; round < 20; round++) {
		for (int i = 0; i < 3; i++, next++)
			assert_int_equal(rv_ring_put(ring, &next), RV_OK);
		size_t count = rv_ring_take(ring, out, 8, 0);
		assert_int_equal(count, 3);
		for (size_t i = 0; i < count; i++)
			assert_int_equal(out[i], want++);
	}
	rv_ring_free(ring);
}

static void a_full_ring_refuses_the_newest_and_counts_it(void **state)
{
	struct rv_ring *ring;
	int out[4];

	(void)state;
	assert_int_equal(rv_ring_new(sizeof(int), 2, &ring), RV_OK);
	for (int i = 0; i < 5; i++)
		assert_int_equal(rv_ring_put(ring, &i), i < 2 ? RV_OK : RV_ERR_AGAIN);
	assert_int_equal(rv_ring_dropped(ring), 3);
	assert_int_equal(rv_ring_waiting(ring), 2);
	assert_int_equal(rv_ring_take(ring, out, 4, 0), 2);
	assert_int_equal(out[0], 0);
	assert_int_equal(out[1], 1);
	rv_ring_free(ring);
}

static void an_empty_ring_waits_until_the_deadline_and_no_less(void **state)
{
	struct rv_ring *ring;
	int out;
	int64_t deadline_ns = soon(30);

	(void)state;
	assert_int_equal(rv_ring_new(sizeof(int), 2, &ring), RV_OK);
	assert_int_equal(rv_ring_take(ring, &out, 1, deadline_ns), 0);
	assert_true(rv_clock_mono_ns() >= deadline_ns);
	rv_ring_free(ring);
}

static void *close_it(void *ring)
{
	rv_clock_sleep_until(soon(20));
	rv_ring_close(ring);
	return NULL;
}

static void closing_wakes_the_taker_now_and_later(void **state)
{
	struct rv_ring *ring;
	pthread_t closer;
	int out;
	int64_t far_ns = soon(60000);

	(void)state;
	assert_int_equal(rv_ring_new(sizeof(int), 2, &ring), RV_OK);
	assert_int_equal(pthread_create(&closer, NULL, close_it, ring), 0);
	assert_int_equal(rv_ring_take(ring, &out, 1, far_ns), 0);
	assert_int_equal(rv_ring_take(ring, &out, 1, far_ns), 0);
	assert_true(rv_clock_mono_ns() < far_ns);
	pthread_join(closer, NULL);
	rv_ring_free(ring);
}

static void *put_many(void *data)
{
	struct putter *putter = data;

	for (int i = 0; i < EACH; i++) {
		struct item item = {.who = putter->who, .number = i};
		memset(item.filling, i & 0x7f, sizeof item.filling);
		if (rv_ring_put(putter->ring, &item) != RV_OK)
			putter->refused++;
	}
	return NULL;
}

/* Every item is whole, those of one thread stay in order, and taken + refused = put. */
static void many_threads_lose_nothing_uncounted(void **state)
{
	struct rv_ring *ring;
	struct putter putters[PUTTERS];
	pthread_t threads[PUTTERS];
	struct item out[16];
	int last[PUTTERS] = {-1, -1, -1, -1};
	int taken = 0, refused = 0;
	bool running = true;

	(void)state;
	assert_int_equal(rv_ring_new(sizeof(struct item), ROOM, &ring), RV_OK);
	for (int i = 0; i < PUTTERS; i++) {
		putters[i] = (struct putter){.ring = ring, .who = i};
		assert_int_equal(pthread_create(&threads[i], NULL, put_many, &putters[i]), 0);
	}
	while (running) {
		size_t count = rv_ring_take(ring, out, 16, soon(500));
		running = count > 0;
		for (size_t i = 0; i < count; i++, taken++) {
			assert_in_range(out[i].who, 0, PUTTERS - 1);
			assert_true(out[i].number > last[out[i].who]);
			last[out[i].who] = out[i].number;
			for (size_t k = 0; k < sizeof out[i].filling; k++)
				assert_int_equal(out[i].filling[k], out[i].number & 0x7f);
		}
	}
	for (int i = 0; i < PUTTERS; i++) {
		pthread_join(threads[i], NULL);
		refused += putters[i].refused;
	}
	while (rv_ring_take(ring, out, 1, 0))
		taken++;
	assert_int_equal(taken + refused, PUTTERS * EACH);
	assert_int_equal(rv_ring_dropped(ring), refused);
	assert_true(taken > 0);
	rv_ring_free(ring);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(items_come_out_in_the_order_they_went_in),
	    cmocka_unit_test(a_full_ring_refuses_the_newest_and_counts_it),
	    cmocka_unit_test(an_empty_ring_waits_until_the_deadline_and_no_less),
	    cmocka_unit_test(closing_wakes_the_taker_now_and_later),
	    cmocka_unit_test(many_threads_lose_nothing_uncounted),
	};

	return cmocka_run_group_tests_name("ring", tests, NULL, NULL);
}
