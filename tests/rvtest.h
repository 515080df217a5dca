/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What all C tests share.  cmocka's assert_float_equal narrows to float, so numbers are compared
 * here.
 */
#ifndef RV_TESTS_RVTEST_H
#define RV_TESTS_RVTEST_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static inline void rvtest_near(const char *label, double got, double want, double tolerance,
			       const char *file, int line)
{
	if (fabs(got - want) <= tolerance || (isnan(got) && isnan(want)))
		return;
	print_error("%s: got %.17g, want %.17g, tolerance %.3g\n", label, got, want, tolerance);
	_fail(file, line);
}

/* |got - want| <= tolerance, both as doubles; two NaN count as equal. */
#define assert_near(label, got, want, tolerance) \
	rvtest_near(label, got, want, tolerance, __FILE__, __LINE__)

#endif
