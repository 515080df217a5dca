#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Kills the recorder in the middle of its work, again and again: nothing acknowledged may be lost.

usage: kill.py WRITER ROUNDS
"""
import pathlib
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

SEED = 20260105
START_MS = 2000

writer, rounds = sys.argv[1], int(sys.argv[2])
dice = random.Random(SEED)
failures = []
acknowledged = 0
kills_after_ack = 0
longest_start = 0


def read_lines(stream, lines):
    for line in stream:
        lines.append(line.split())


with tempfile.TemporaryDirectory() as folder:
    record = pathlib.Path(folder) / "yard.db"
    for number in range(rounds):
        lines = []
        process = subprocess.Popen([writer, str(record)], stdout=subprocess.PIPE, text=True)
        reader = threading.Thread(target=read_lines, args=(process.stdout, lines))
        reader.start()
        deadline = time.monotonic() + 20
        while not lines and time.monotonic() < deadline and process.poll() is None:
            time.sleep(0.001)
        time.sleep(dice.uniform(0.0, 0.15))
        process.send_signal(signal.SIGKILL)
        process.wait()
        reader.join()
        for line in lines:
            if len(line) == 2 and line[0] == "ack":
                acknowledged = max(acknowledged, int(line[1]))
                kills_after_ack += line is lines[-1]
            elif len(line) == 2 and line[0] == "up":
                longest_start = max(longest_start, int(line[1]))
        with sqlite3.connect(record) as db:
            most, count, distinct = db.execute(
                "SELECT max(v1), count(*), count(DISTINCT v1) FROM narrow").fetchone()
            sound = db.execute("PRAGMA integrity_check").fetchone()[0]
            backward = db.execute("SELECT count(*) FROM (SELECT v1 - lag(v1) OVER (ORDER BY t_us) "
                                  "AS step FROM narrow) WHERE step <> 1").fetchone()[0]
            marks = db.execute("SELECT max(CAST(text AS INTEGER)) FROM mark").fetchone()[0] or 0
        db.close()
        most = most or 0
        if most < acknowledged:
            failures.append(f"round {number}: {acknowledged} acknowledged, {most} in the record")
        if marks < acknowledged:
            failures.append(f"round {number}: mark {acknowledged} acknowledged, {marks} recorded")
        if count != most or distinct != most or backward:
            failures.append(f"round {number}: {count} rows up to {most}, {backward} out of order")
        if sound != "ok":
            failures.append(f"round {number}: {sound}")
    with sqlite3.connect(record) as db:
        starts = db.execute("SELECT count(*) FROM device_event WHERE what = 'start'").fetchone()[0]
        runs = db.execute("SELECT count(*), sum(to_us IS NULL) FROM run").fetchone()
    db.close()

if runs != (1, 1):
    failures.append(f"the run did not stay open: {runs}")
if longest_start >= START_MS:
    failures.append(f"a start took {longest_start} ms")
if not acknowledged or kills_after_ack < rounds // 4:
    failures.append(f"only {kills_after_ack} kills met a working recorder: nothing was tried")
print(f"{rounds} kills, {acknowledged} messages acknowledged and found, {starts} starts, "
      f"the longest took {longest_start} ms")
for failure in failures:
    print(failure)
print(f"{0 if failures else 1} passed, {len(failures)} failed")
sys.exit(1 if failures else 0)
