/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/utc.h"

#include <stdio.h>

/* Days from 0000-03-01 to 1970-01-01: years counted from March keep the leap day at their end. */
#define DAYS_TO_EPOCH 719468
#define DAYS_PER_ERA 146097 /* 400 years */

static int64_t floor_div(int64_t a, int64_t b)
{
	return a / b - (a % b < 0);
}

void rv_utc_text(int64_t utc_us, char text[RV_UTC_SIZE])
{
	int64_t ms = floor_div(utc_us, 1000);
	int64_t days = floor_div(ms, 86400000);
	int64_t of_day_ms = ms - days * 86400000;
	int64_t era = floor_div(days + DAYS_TO_EPOCH, DAYS_PER_ERA);
	int64_t of_era = days + DAYS_TO_EPOCH - era * DAYS_PER_ERA;
	/* Take out the leap days gone by, then what is left falls into years of 365 days. */
	int64_t year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
	int64_t of_year = of_era - (365 * year + year / 4 - year / 100);
	int64_t month = (5 * of_year + 2) / 153; /* 0 = March; five months have 153 days */
	int64_t day = of_year - (153 * month + 2) / 5 + 1;

	year += era * 400 + (month >= 10);
	month += month < 10 ? 3 : -9;
	text[0] = '\0';
	if (year < 0 || year > 9999)
		return;
	/* The remainders change nothing; they let the compiler see that the text fits. */
	snprintf(text, RV_UTC_SIZE, "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ", (int)(year % 10000),
		 (int)(month % 100), (int)(day % 100), (int)(of_day_ms / 3600000 % 100),
		 (int)(of_day_ms / 60000 % 60), (int)(of_day_ms / 1000 % 60),
		 (int)(of_day_ms % 1000));
}
