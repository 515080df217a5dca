/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/utc.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/* Days from 0000-03-01 to 1970-01-01: years counted from March keep the leap day at their end. */
#define DAYS_TO_EPOCH 719468
#define DAYS_PER_ERA 146097 /* 400 years */

/* Those of one day, hour, minute, second. */
#define DAY_US INT64_C(86400000000)
#define HOUR_US INT64_C(3600000000)
#define MINUTE_US INT64_C(60000000)
#define SECOND_US INT64_C(1000000)

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

/* count digits, no more and no fewer being looked at; -1 = they are not there. */
static int take_digits(const char **at, int count)
{
	int number = 0;

	for (int i = 0; i < count; i++, (*at)++) {
		if (!isdigit((unsigned char)**at))
			return -1;
		number = 10 * number + (**at - '0');
	}
	return number;
}

/* The numbers that stand between the marks, each with its count of digits; false: another form. */
static bool take_numbers(const char **at, const char *form, int *numbers)
{
	for (const char *c = form; *c; c++) {
		if (isdigit((unsigned char)*c)) {
			*numbers = take_digits(at, *c - '0');
			if (*numbers++ < 0)
				return false;
		} else if (*(*at)++ != *c) {
			return false;
		}
	}
	return true;
}

/* Decimals of a second, rounded to whole microseconds. */
static bool take_decimals(const char **at, int64_t *us)
{
	int64_t place = SECOND_US;

	*us = 0;
	if (**at != '.' && **at != ',')
		return true;
	(*at)++;
	if (!isdigit((unsigned char)**at))
		return false;
	for (; isdigit((unsigned char)**at); (*at)++) {
		if (place == 1)
			*us += **at >= '5';
		place /= 10;
		*us += place * (**at - '0');
	}
	return true;
}

/* Z, +hh:mm, +hhmm or nothing: what is to be taken off. */
static enum rv_err take_offset(const char **at, int64_t *offset_us, bool *has_zone)
{
	int numbers[2];
	char sign = **at;

	*offset_us = 0;
	*has_zone = sign != '\0';
	if (!*has_zone)
		return RV_OK;
	(*at)++;
	if (sign == 'Z')
		return RV_OK;
	const char *form = strchr(*at, ':') ? "2:2" : "22";
	if ((sign != '+' && sign != '-') || !take_numbers(at, form, numbers))
		return RV_ERR_SYNTAX;
	if (numbers[0] > 23 || numbers[1] > 59)
		return RV_ERR_RANGE;
	*offset_us = (sign == '-' ? -1 : 1) * (numbers[0] * HOUR_US + numbers[1] * MINUTE_US);
	return RV_OK;
}

static int days_in_month(int year, int month)
{
	static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
	bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

	return days[month - 1] + (month == 2 && leap);
}

/* The inverse of what rv_utc_text does. */
static int64_t days_of(int year, int month, int day)
{
	int64_t y = year - (month <= 2);
	int64_t era = floor_div(y, 400), of_era = y - era * 400;
	int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;

	return era * DAYS_PER_ERA + of_era * 365 + of_era / 4 - of_era / 100 + of_year -
	       DAYS_TO_EPOCH;
}

enum rv_err rv_utc_read(const char *text, int64_t *utc_us, bool *has_zone)
{
	enum { YEAR, MONTH, DAY, HOUR, MINUTE, SECOND, PARTS };
	const char *at = text;
	int part[PARTS];
	int64_t parts_us = 0, offset_us = 0;
	bool zoned = false;

	if (!take_numbers(&at, "4-2-2", part) || (*at != 'T' && *at != ' '))
		return RV_ERR_SYNTAX;
	at++;
	if (!take_numbers(&at, "2:2:2", part + HOUR) || !take_decimals(&at, &parts_us))
		return RV_ERR_SYNTAX;
	enum rv_err err = take_offset(&at, &offset_us, &zoned);
	if (err != RV_OK)
		return err;
	if (*at != '\0')
		return RV_ERR_SYNTAX;
	if (part[MONTH] < 1 || part[MONTH] > 12 || part[DAY] < 1 ||
	    part[DAY] > days_in_month(part[YEAR], part[MONTH]) || part[HOUR] > 23 ||
	    part[MINUTE] > 59 || part[SECOND] > 60)
		return RV_ERR_RANGE;
	*utc_us = days_of(part[YEAR], part[MONTH], part[DAY]) * DAY_US + part[HOUR] * HOUR_US +
		  part[MINUTE] * MINUTE_US + part[SECOND] * SECOND_US + parts_us - offset_us;
	*has_zone = zoned;
	return RV_OK;
}
