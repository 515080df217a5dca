-- SPDX-License-Identifier: GPL-3.0-or-later
-- The record, version 1.  Plain tables for any SQLite from 3.37 on; no table is made at run time.
--
-- *_us: microseconds since 1970-01-01 UTC on the record's own time axis, which never steps; the
-- table clock_anchor tells what UTC an instant really was.  Spans are half open, [from_us, to_us).
-- Overviews of long stretches are not part of this version: they can be derived from the readings
-- at any time, so a later version adds their tables and fills them.

CREATE TABLE record(
	id INTEGER PRIMARY KEY CHECK(id = 1),
	made_us INTEGER NOT NULL,
	made_by TEXT NOT NULL,
	-- values in narrow and wide that are readings, as counted up to counted_us by the writer
	readings INTEGER NOT NULL DEFAULT 0,
	counted_us INTEGER NOT NULL DEFAULT 0
) STRICT;

---------------------------------------------------------------------- who measured what, and where

-- The station file, whole, each time it was another one.  Rows are never changed.
CREATE TABLE station_version(
	id INTEGER PRIMARY KEY,
	from_us INTEGER NOT NULL,
	name TEXT NOT NULL,
	unit TEXT NOT NULL,          -- of force, for people
	simulated INTEGER NOT NULL CHECK(simulated IN (0, 1)),
	text TEXT NOT NULL
) STRICT;

-- The rig on the ground from from_us on; text NULL: none.  Rows are never changed.
CREATE TABLE rig_version(
	id INTEGER PRIMARY KEY,
	from_us INTEGER NOT NULL,
	name TEXT,
	text TEXT,
	by_page INTEGER NOT NULL CHECK(by_page IN (0, 1)) -- 1: wins over the station's own
) STRICT;

CREATE TABLE device(
	id INTEGER PRIMARY KEY,
	name TEXT NOT NULL,
	link TEXT NOT NULL,
	UNIQUE(name, link)
) STRICT;

CREATE TABLE channel(
	id INTEGER PRIMARY KEY,
	name TEXT NOT NULL,
	quantity TEXT NOT NULL
		CHECK(quantity IN ('tension', 'payout', 'turns', 'travel', 'switch', 'other')),
	unit TEXT NOT NULL,          -- of the calibrated value: N, m, or the channel's own
	cell TEXT NOT NULL,          -- '' where the quantity has none
	winch TEXT NOT NULL,
	load TEXT NOT NULL,
	motion TEXT NOT NULL,        -- of a switch: what closed means
	UNIQUE(name, quantity, unit, cell, winch, load, motion)
) STRICT;

-- How one device's message is laid out.  Another layout is another row.
CREATE TABLE stream(
	id INTEGER PRIMARY KEY,
	device INTEGER NOT NULL REFERENCES device,
	part INTEGER NOT NULL,       -- 0, 1, ... where a device has more than 16 channels
	width INTEGER NOT NULL CHECK(width IN (4, 16)), -- 4: its rows are in narrow, 16: in wide
	since_us INTEGER NOT NULL
) STRICT;

CREATE TABLE slot(
	stream INTEGER NOT NULL REFERENCES stream,
	slot INTEGER NOT NULL CHECK(slot BETWEEN 1 AND 16), -- k: the channel's raw is in v_k
	channel INTEGER NOT NULL REFERENCES channel,
	raw_type TEXT NOT NULL,
	place TEXT NOT NULL,         -- register or field
	PRIMARY KEY(stream, slot)
) STRICT, WITHOUT ROWID;

------------------------------------------------------------------------------------- raw readings

-- One row for each message, raw as received: a count stays an integer, a number a real; NULL: no
-- reading, or a bad one (quality_span says why).  The time is the row's key; of two messages at one
-- instant the later moves to the next free microsecond.  Two widths, because an unused column costs
-- a byte in every row.
CREATE TABLE narrow(
	t_us INTEGER PRIMARY KEY, stream INTEGER NOT NULL,
	v1 ANY, v2 ANY, v3 ANY, v4 ANY
) STRICT;
CREATE TABLE wide(
	t_us INTEGER PRIMARY KEY, stream INTEGER NOT NULL,
	v1 ANY, v2 ANY, v3 ANY, v4 ANY, v5 ANY, v6 ANY, v7 ANY, v8 ANY,
	v9 ANY, v10 ANY, v11 ANY, v12 ANY, v13 ANY, v14 ANY, v15 ANY, v16 ANY
) STRICT;

---------------------------------------------------------------- runs, and what turns raw to values

CREATE TABLE run(
	id INTEGER PRIMARY KEY AUTOINCREMENT, -- its number, never used again
	name TEXT NOT NULL UNIQUE,
	notes TEXT NOT NULL DEFAULT '',
	how TEXT NOT NULL CHECK(how IN ('by hand', 'by itself', 'past', 'import')),
	from_us INTEGER NOT NULL,
	to_us INTEGER CHECK(to_us > from_us), -- NULL while it is open
	ended TEXT,                  -- why it was closed
	station INTEGER NOT NULL REFERENCES station_version,
	rig_name TEXT,               -- NULL: declared without a rig
	rig_text TEXT
) STRICT;
CREATE UNIQUE INDEX run_open ON run(to_us IS NULL) WHERE to_us IS NULL; -- one at most

-- Every calibration ever used, whole, with what was stated of the channel.  Rows are never changed.
CREATE TABLE calibration(
	id INTEGER PRIMARY KEY,
	channel INTEGER NOT NULL REFERENCES channel,
	from_us INTEGER NOT NULL,    -- first used
	name TEXT NOT NULL,
	a0 REAL NOT NULL, a1 REAL NOT NULL, a2 REAL, a3 REAL,
	gain_u_ratio REAL, gain_u_value REAL, -- standard uncertainties: relative or in the unit
	zero_u_ratio REAL, zero_u_value REAL,
	drift_u_ratio REAL, drift_u_value REAL,
	delay_s REAL, due TEXT NOT NULL, sha256 TEXT NOT NULL, file TEXT NOT NULL,
	capacity REAL, tare_n REAL, wraps_at REAL
) STRICT;

-- The heart: in this span, this value column is this channel, with these numbers.
--   value = a0 + a1 raw + a2 raw^2 + a3 raw^3; a2 NULL: a straight line.
-- run NULL: where no run covers.  A run that opens ends the rows without a run and begins its own;
-- a zero or a counter that rolls over ends a row and begins the next.  What has ended stays.
CREATE TABLE conversion(
	id INTEGER PRIMARY KEY,
	run INTEGER REFERENCES run,
	channel INTEGER NOT NULL REFERENCES channel,
	from_us INTEGER NOT NULL,
	to_us INTEGER NOT NULL DEFAULT 9223372036854775807 CHECK(to_us > from_us),
	stream INTEGER NOT NULL REFERENCES stream,
	width INTEGER NOT NULL,
	slot INTEGER NOT NULL,
	calibration INTEGER NOT NULL REFERENCES calibration,
	a0 REAL NOT NULL, a1 REAL NOT NULL, a2 REAL, a3 REAL,
	zero REAL NOT NULL           -- already taken off a0; kept for the reader
) STRICT;
CREATE INDEX conversion_of_run ON conversion(run, channel);
CREATE INDEX conversion_in_force ON conversion(channel) WHERE to_us = 9223372036854775807;

------------------------------------------------------------------------------------ what happened

CREATE TABLE mark(
	id INTEGER PRIMARY KEY, t_us INTEGER NOT NULL,
	text TEXT NOT NULL, travel_m REAL, by_whom TEXT
) STRICT;
CREATE INDEX mark_time ON mark(t_us);

CREATE TABLE alarm_event(
	id INTEGER PRIMARY KEY, t_us INTEGER NOT NULL,
	alarm TEXT NOT NULL, level TEXT NOT NULL, state TEXT NOT NULL,
	value REAL, unit TEXT, text TEXT, by_whom TEXT
) STRICT;
CREATE INDEX alarm_event_time ON alarm_event(t_us);

-- device NULL: the station itself.  what 'lost': count messages did not come, or came unreadable,
-- between t_us and until_us.
CREATE TABLE device_event(
	id INTEGER PRIMARY KEY, t_us INTEGER NOT NULL, until_us INTEGER NOT NULL,
	device INTEGER REFERENCES device,
	what TEXT NOT NULL, cause TEXT, count INTEGER, text TEXT
) STRICT;
CREATE INDEX device_event_time ON device_event(t_us);

-- Where no span lies a reading is good.
CREATE TABLE quality_span(
	id INTEGER PRIMARY KEY,
	channel INTEGER NOT NULL REFERENCES channel,
	from_us INTEGER NOT NULL,
	to_us INTEGER NOT NULL DEFAULT 9223372036854775807,
	quality TEXT NOT NULL CHECK(quality IN ('uncertain', 'bad')),
	cause TEXT NOT NULL
) STRICT;
CREATE INDEX quality_span_time ON quality_span(channel, from_us);

-- Row time t_us was utc_us, as the wall clock had it; mono_ns is the machine's clock that no one
-- sets, counted from boot.  The newest one of a boot holds for the whole boot, a trusted one first.
CREATE TABLE clock_anchor(
	id INTEGER PRIMARY KEY,
	boot TEXT NOT NULL, mono_ns INTEGER NOT NULL, t_us INTEGER NOT NULL, utc_us INTEGER NOT NULL,
	trusted INTEGER NOT NULL CHECK(trusted IN (0, 1)), why TEXT NOT NULL
) STRICT;
CREATE INDEX clock_anchor_time ON clock_anchor(t_us);

-------------------------------------------------------------------------------- what people read

-- Calibrated readings.  One that several runs cover is listed for each of them; run is NULL where
-- none covers it.  No order is promised.
--
-- likely() keeps the planner from taking a span's own bounds where the caller gave narrower ones;
-- the + before stream keeps it from building an index over all readings; CROSS JOIN fixes the order
-- channel, span, rows.
CREATE VIEW reading(run, t_us, channel, value, unit) AS
SELECT run, t_us, channel,
	iif(a2 IS NULL, a0 + raw * a1, a0 + raw * (a1 + raw * (a2 + raw * a3))), unit
FROM (
	SELECT c.run, m.t_us, h.name AS channel, h.unit, c.a0, c.a1, c.a2, c.a3,
		CASE c.slot WHEN 1 THEN m.v1 WHEN 2 THEN m.v2 WHEN 3 THEN m.v3 WHEN 4 THEN m.v4 END AS raw
	FROM channel AS h CROSS JOIN conversion AS c CROSS JOIN narrow AS m
	WHERE c.channel = h.id AND c.width = 4 AND +m.stream = c.stream
		AND likely(m.t_us >= c.from_us) AND likely(m.t_us < c.to_us))
WHERE raw IS NOT NULL
UNION ALL
SELECT run, t_us, channel,
	iif(a2 IS NULL, a0 + raw * a1, a0 + raw * (a1 + raw * (a2 + raw * a3))), unit
FROM (
	SELECT c.run, m.t_us, h.name AS channel, h.unit, c.a0, c.a1, c.a2, c.a3,
		CASE c.slot WHEN 1 THEN m.v1 WHEN 2 THEN m.v2 WHEN 3 THEN m.v3 WHEN 4 THEN m.v4
			WHEN 5 THEN m.v5 WHEN 6 THEN m.v6 WHEN 7 THEN m.v7 WHEN 8 THEN m.v8
			WHEN 9 THEN m.v9 WHEN 10 THEN m.v10 WHEN 11 THEN m.v11 WHEN 12 THEN m.v12
			WHEN 13 THEN m.v13 WHEN 14 THEN m.v14 WHEN 15 THEN m.v15 WHEN 16 THEN m.v16 END AS raw
	FROM channel AS h CROSS JOIN conversion AS c CROSS JOIN wide AS m
	WHERE c.channel = h.id AND c.width = 16 AND +m.stream = c.stream
		AND likely(m.t_us >= c.from_us) AND likely(m.t_us < c.to_us))
WHERE raw IS NOT NULL;
