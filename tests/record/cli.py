#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The record as the commands and as other programs see it.

usage: cli.py REEVE MAKE_RECORD FOLDER [--write]   FOLDER holds what the commands must print
"""
import csv
import json
import math
import os
import pathlib
import sqlite3
import subprocess
import sys
import tempfile

reeve, make_record = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:3])
expected = pathlib.Path(sys.argv[3]).resolve()
write = "--write" in sys.argv[4:]
passed, failures = 0, []


def check(label, good, what=""):
    global passed
    if good:
        passed += 1
    else:
        failures.append(f"{label}: {what}")


def run(*args, rc=0):
    done = subprocess.run([reeve, *args], capture_output=True, encoding="utf-8", timeout=60,
                          check=False, env={**os.environ, "TZ": "UTC-1"})
    check(" ".join(args), done.returncode == rc, f"exit {done.returncode}: {done.stderr}")
    return done


def compare(name, *args):
    got = run(*args).stdout
    path = expected / name
    if write:
        path.write_text(got, encoding="utf-8")
    check(name, got == path.read_text(encoding="utf-8"), f"printed\n{got}")


def refuse(rc, words, *args):
    done = run(*args, rc=rc)
    check(" ".join(args), words in done.stderr and not done.stdout, f"said {done.stderr!r}")


def read_wide(path):
    """{(time in us from the start, header): value} of a wide table, and its rows of time."""
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    cells = {}
    check("time_s has six decimals", all(row["time_s"][-7] == "." for row in rows))
    for row in rows:
        seconds, micros = row["time_s"].split(".")
        for header, text in row.items():
            if text and header not in ("time_s", "time_utc"):
                cells[int(seconds) * 1000000 + int(micros), header] = float(text)
    return cells, rows


def in_record(record, run_number):
    db = sqlite3.connect(f"file:{record}?mode=ro", uri=True)
    start = db.execute("SELECT from_us FROM run WHERE id = ?", (run_number,)).fetchone()[0]
    ends = {"N": "_n", "m": "_m"}
    cells = {(t_us - start, channel + ends.get(unit, "")): value for t_us, channel, value, unit in
             db.execute("SELECT t_us, channel, value, unit FROM reading WHERE run = ?",
                        (run_number,))}
    db.close()
    return cells


def exports(folder):
    record = "yard.db"
    out = pathlib.Path(folder) / "out"
    run("export", f"{record}:1", "--to", "out")
    raw = (out / "readings.csv").read_bytes()
    check("lines end in CR LF", raw.count(b"\n") == raw.count(b"\r\n") and raw.endswith(b"\r\n"))
    cells, rows = read_wide(out / "readings.csv")
    want = in_record(record, 1)
    check("the table is the record, number for number", cells == want,
          f"{len(cells)} cells, {len(want)} in the record")
    check("every reading is there", len(want) == 8569)
    check("time_utc", rows[0]["time_utc"] == "2026-01-05T08:00:07.000Z", rows[0]["time_utc"])
    metadata = json.loads((out / "metadata.json").read_text(encoding="utf-8"))
    columns = metadata["tableSchema"]["columns"]
    check("the metadata names the columns in order",
          [column["titles"] for column in columns] == list(rows[0]))
    check("it says SIMULATED", "SIMULATED" in metadata["dc:description"])
    check("units", [c.get("schema:unitText") for c in columns] == ["s", None, "N", "N", "m", "degC"])
    check("the rig goes with it", (out / "rig.yaml").read_text().startswith("rig: two parts"))
    shown = json.loads(run("show", "--json", f"{record}:1").stdout)
    check("run.json is what show prints", json.loads((out / "run.json").read_text()) == shown)
    refuse(1, "--again", "export", f"{record}:1", "--to", "out")
    run("export", f"{record}:wet, rope", "--to", "out", "--again", "--shape", "tidy")
    check("an earlier run's rig is gone", not (out / "rig.yaml").exists())
    with open(out / "readings.csv", encoding="utf-8", newline="") as file:
        tidy = list(csv.DictReader(file, strict=True))
    check("tidy has a line for each reading", len(tidy) == 200)
    check("a zero in the run: both stretches",
          [row["value"] for row in tidy if row["channel"] == "lead"] == ["8000"] * 25 + ["7900"] * 25)
    check("a name with a comma", any(row["channel"] == "drum, temp" for row in tidy))
    check("nothing half written is left", not list(out.glob("*.part")))
    # Copy of the numbers as text: the same double again, to the last bit.
    check("numbers come back", math.isclose(float(tidy[1]["value"]), 8000.0, rel_tol=0.0))


def refusals():
    refuse(1, "there is no record", "runs", "nothing.db")
    refuse(1, "no run '7'; its last one is 2", "show", "yard.db:7")
    refuse(1, "no run 'dry'", "show", "yard.db:dry")
    refuse(2, "RECORD:RUN", "show", "yard.db")
    refuse(2, "expected RECORD", "runs")
    refuse(2, "there is no option --jason, did you mean --json?", "runs", "--jason", "yard.db")
    refuse(2, "one word too many: 7", "runs", "yard.db", "7")
    refuse(2, '--unit is "kg"; allowed: N daN kN', "runs", "yard.db", "--unit", "kg")
    refuse(2, "there is no command rnus, did you mean runs?", "rnus", "yard.db")
    refuse(2, '--form is "hdf5"; allowed: csv', "export", "yard.db:1", "--to", "o", "--form", "hdf5")
    refuse(2, "allowed: wide, tidy", "export", "yard.db:1", "--to", "o", "--shape", "long")
    refuse(2, "--to DIR is missing", "export", "yard.db:1")
    pathlib.Path("notes.txt").write_text("no record", encoding="utf-8")
    refuse(1, "is no reeve record", "runs", "notes.txt")


def shell():
    done = subprocess.run(["sqlite3", "-readonly", "yard.db", "SELECT * FROM reading LIMIT 5"],
                          capture_output=True, encoding="utf-8", timeout=60, check=False)
    check("the sqlite3 shell reads five readings", done.stdout.count("\n") == 5, done.stderr)
    check("of the record's beginning", done.stdout.startswith("|1767600000000000|lead|8000.0|N"))


with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    subprocess.run([make_record, "yard.db"], check=True, timeout=60)
    before = pathlib.Path("yard.db").read_bytes()
    compare("runs.txt", "runs", "yard.db")
    compare("runs-lbf.txt", "runs", "yard.db", "--unit", "lbf")
    compare("runs.json", "runs", "--json", "yard.db")
    compare("show-1.txt", "show", "yard.db:1")
    compare("show-2.txt", "show", 'yard.db:"wet, rope"')
    compare("show-1.json", "show", "--json", "yard.db:dry rope")
    exports(folder)
    refusals()
    shell()
    check("reading changes nothing", pathlib.Path("yard.db").read_bytes() == before)
    os.chdir("/")
for failure in failures:
    print(failure)
print(f"{passed} passed, {len(failures)} failed")
sys.exit(1 if failures else 0)
