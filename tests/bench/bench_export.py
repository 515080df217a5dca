#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long `reeve export` takes for each reading of a run.  The reference: the database library alone,
fetching the same readings from the record's view, nothing written.  usage: bench_export.py PAIRS"""
import json
import os
import pathlib
import sqlite3
import subprocess
import sys
import tempfile
import time

RUN = 1


def took_us(work):
    begin = time.perf_counter()
    work()
    return 1e6 * (time.perf_counter() - begin)


with tempfile.TemporaryDirectory(prefix="reeve-bench-") as folder:
    record = pathlib.Path(folder) / "bench.db"
    subprocess.run([os.environ["RV_BUILD"] + "/tests/record/make_record", record], check=True, timeout=60)

    def export():
        subprocess.run([os.environ["RV_REEVE"], "export", f"{record}:{RUN}", "--to", f"{folder}/out",
                        "--again"], check=True, timeout=60, stdout=subprocess.DEVNULL)

    def fetch():
        connection = sqlite3.connect(f"file:{record}?mode=ro", uri=True)
        rows = connection.execute("SELECT t_us, channel, value, unit FROM reading WHERE run = ? "
                                  "ORDER BY t_us", (RUN,)).fetchall()
        connection.close()
        return len(rows)

    export()
    readings = fetch()
    pairs = []
    for k in range(int(sys.argv[1])):
        turns = [(0, export), (1, fetch)]
        pair = [0.0, 0.0]
        for place, work in turns if k % 2 == 0 else reversed(turns):
            pair[place] = took_us(work) / readings
        pairs.append(pair)

print(json.dumps({"name": "export, each reading", "of": f"a run of {readings} readings, wide CSV",
                  "unit": "us", "at_most": None, "reference": "SQLite fetching the same readings from the view "
                  "`reading`, nothing written", "pairs": pairs}))
