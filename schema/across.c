/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/across.h"

#include <stdlib.h>
#include <string.h>

static int by_time(const void *a, const void *b)
{
	const struct rv_estimate_pull *one = a, *other = b;

	return (one->start_s > other->start_s) - (one->start_s < other->start_s);
}

enum rv_err rv_across_make(const struct rv_session *session, const struct rv_estimate_setup *setup,
			   const struct rv_estimate_pull *pulls, int count,
			   struct rv_estimate *estimate)
{
	struct rv_estimate_setup one = *setup;
	struct rv_estimate_pull *all = calloc((size_t)count + 1, sizeof *all);

	if (!all)
		return RV_ERR_NOMEM;
	memcpy(all, pulls, (size_t)count * sizeof *all);
	for (int i = 0; i < count; i++) {
		double later_s =
		    (double)(session[all[i].run].run.from_us - session[0].run.from_us) * 1e-6;

		all[i].start_s += later_s;
		all[i].end_s += later_s;
		all[i].stint += all[i].run * RV_ESTIMATE_PULLS;
		all[i].run = 0;
	}
	qsort(all, (size_t)count, sizeof *all, by_time);
	one.runs = 1;
	enum rv_err err = rv_estimate_make(&one, all, count, estimate);
	free(all);
	return err;
}
