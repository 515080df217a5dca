/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A cell's calibration from loads applied to it: reading as a polynomial of load, how well it holds,
 * and the way back.
 *
 * Degree 1 to 3, because three is what a station applies.  Where none is asked for it is the highest
 * whose last coefficient differs from 0, |c| > t(0.9875, dof) u(c).  That is the rule of ASTM E74,
 * annex A1 (ratio of residual standard deviations of neighbouring degrees against F(0.975; 1, dof);
 * from memory, not re-read; that both are one follows from t^2 = F).  A term that shifts no point
 * by 1e-8 of the readings' range is never taken: no cell resolves it.  One more different load than
 * the curve has coefficients is asked for, else nobody could see that it misses.
 *
 * Lower limit factor: 2.4 times the residual standard deviation (ASTM E74, from memory), brought to
 * newtons by the slope at zero load; 400 of them are the lowest force of class A.
 *
 * What goes into a budget, as standard uncertainties (shares are of the force):
 *   gain   root of the sum of squares of: the fit, at its worst between a tenth and the whole of the
 *          highest load; the standard deviation of the gains of the series; half the greatest
 *          difference between up and down over the highest load, / sqrt(3); where the curve misses
 *          the readings (lack of fit), how far it does, / sqrt(3)
 *   zero   a single reading at zero load against the curve: its place and the scatter
 *   drift  greatest change of the zero over a series / sqrt(3)
 * What all loads share, such as the gain of the reference cell, is in none of them.
 * (Limits as rectangular: JCGM 100:2008, 4.3.7, from memory; the composition: common practice, no
 * source.)
 */
#ifndef RV_CORE_CALIBRATE_H
#define RV_CORE_CALIBRATE_H

#include "core/calibrate_result.h"

/* degree 0 = choose, else 1 .. RV_CALIBRATE_DEGREE.  RV_ERR_REFUSED with tag: too_few, degree_high,
 * no_response, not_monotone, no_convergence; RV_ERR_NOMEM. */
enum rv_err rv_calibrate_make(const struct rv_applied *applied, int degree,
			      struct rv_calibrate *calibrate, struct rv_error *error);

#endif
