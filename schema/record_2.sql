-- SPDX-License-Identifier: GPL-3.0-or-later
-- The record, version 2: what a person says of a pull, and what was worked out of runs.

-- A person struck a pull, or took the strike back (reason NULL).  Rows are never changed: of several
-- for one pull the latest holds.  start_us tells the pull; pull is the number it was shown by.
CREATE TABLE strike(
	id INTEGER PRIMARY KEY,
	run INTEGER NOT NULL REFERENCES run,
	pull INTEGER NOT NULL CHECK(pull > 0),
	start_us INTEGER NOT NULL,
	reason TEXT CHECK(reason <> ''),
	by_whom TEXT,
	t_us INTEGER NOT NULL
) STRICT;
CREATE INDEX strike_of_run ON strike(run);

-- Estimates, each beside the others and none over another: with which runs, what was asked and what
-- came out, both as JSON.  Rows are never changed.
CREATE TABLE estimate(
	id INTEGER PRIMARY KEY,
	made_us INTEGER NOT NULL,
	runs TEXT NOT NULL,          -- numbers, joined by +
	asked TEXT NOT NULL,
	made_by TEXT NOT NULL,       -- version of reeve
	result TEXT NOT NULL
) STRICT;
CREATE INDEX estimate_of_runs ON estimate(runs);

-- How far off the way back of a calibration file is at most, N; NULL: not known.
ALTER TABLE calibration ADD COLUMN inverse_error_n REAL;
