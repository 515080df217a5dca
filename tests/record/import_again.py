#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What was exported comes in again whole; an import that is killed or stopped leaves no half run.

usage: import_again.py REEVE MAKE_RECORD MAKE_PULLS
"""
import json
import math
import pathlib
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

REEVE, MAKE_RECORD, MAKE_PULLS = sys.argv[1:]
SEED = 20261125
KILLS = 6
ROWS = 150000
STATION = "station: Far yard\nunit: kN\nchannels:\n  lead: {quantity: tension}\n" \
          "  out: {quantity: payout}\n"
failures = []
count = 0


def say(name, ok, why=""):
    global count
    count += 1
    print(f"{'ok' if ok else 'FAILED'}: {name}{'' if ok else ': ' + str(why)[:2000]}")
    if not ok:
        failures.append(name)


def reeve(*words):
    return subprocess.run([REEVE, *map(str, words)], capture_output=True, text=True, timeout=120)


def ask(record, sql):
    db = sqlite3.connect(f"file:{record}?mode=ro", uri=True)
    try:
        return db.execute(sql).fetchall()
    finally:
        db.close()


def readings(record, run):
    (start,), = ask(record, f"SELECT from_us FROM run WHERE id = {run}")
    return ask(record, f"SELECT t_us - {start}, channel, value, unit FROM reading "
                       f"WHERE run = {run} ORDER BY t_us, channel")


def differ(a, b, path=""):
    """The first place where two JSON values are not the same to 1e-9."""
    if isinstance(a, float) or isinstance(b, float):
        alike = isinstance(a, (int, float)) and isinstance(b, (int, float)) and \
            math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
        return None if alike else f"{path}: {a} and {b}"
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        return next(filter(None, (differ(a[k], b[k], f"{path}.{k}") for k in a)), None)
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return next(filter(None, (differ(x, y, f"{path}[{i}]")
                                  for i, (x, y) in enumerate(zip(a, b)))), None)
    return None if a == b else f"{path}: {a} and {b}"


def shown(record, run):
    told = json.loads(reeve("show", f"{record}:{run}", "--json").stdout)
    for channel in told["channels"]:
        del channel["device"], channel["calibration"]
    return {key: told[key] for key in ("name", "start_utc", "duration_s", "rig", "readings", "peak",
                                       "channels", "pulls", "marks")}


def estimated(record, run):
    told = json.loads(reeve("estimate", f"{record}:{run}", "--json").stdout)
    del told["runs"]
    return told


def again(work, record, run, shape):
    folder, copy = work / f"{record.stem}-{run}-{shape}", work / f"copy-{record.stem}-{run}-{shape}.db"
    done = reeve("export", f"{record}:{run}", "--to", folder, "--shape", shape)
    say(f"{folder.name}: exported", done.returncode == 0, done.stderr)
    done = reeve("import", copy, folder / "readings.csv")
    say(f"{folder.name}: imported without a word more", done.returncode == 0, done.stderr)
    if done.returncode:
        return
    one, two = readings(record, run), readings(copy, 1)
    say(f"{folder.name}: every reading at its time", one == two and len(one) > 0,
        [pair for pair in zip(one, two) if pair[0] != pair[1]][:3])
    say(f"{folder.name}: shown alike", not differ(shown(record, run), shown(copy, 1)),
        differ(shown(record, run), shown(copy, 1)))
    say(f"{folder.name}: estimated alike", not differ(estimated(record, run), estimated(copy, 1)),
        differ(estimated(record, run), estimated(copy, 1)))
    texts = "SELECT coalesce(rig_text, ''), notes FROM run WHERE id = "
    say(f"{folder.name}: the rig to the letter", ask(record, texts + str(run)) ==
        ask(copy, texts + "1"))
    marks = [sorted(ask(path, "SELECT m.t_us - r.from_us, m.text, m.travel_m, m.by_whom FROM mark m, "
                              f"run r WHERE r.id = {n} AND m.t_us >= r.from_us AND m.t_us < r.to_us"))
             for path, n in ((record, run), (copy, 1))]
    say(f"{folder.name}: every mark", marks[0] == marks[1], marks)
    twice = reeve("export", f"{copy}:1", "--to", work / f"twice-{folder.name}", "--shape", shape)
    say(f"{folder.name}: exported again", twice.returncode == 0, twice.stderr)
    say(f"{folder.name}: the same table", (folder / "readings.csv").read_bytes() ==
        (work / f"twice-{folder.name}" / "readings.csv").read_bytes())
    done = reeve("import", copy, folder / "readings.csv")
    say(f"{folder.name}: its name is never used twice", done.returncode == 1 and
        "never used twice" in done.stderr, done.stderr)
    done = reeve("import", copy, folder / "readings.csv", "--name", "over it")
    say(f"{folder.name}: over itself under another name, whole", done.returncode == 0 and
        len(readings(copy, 2)) == len(one), done.stderr)


def round_trips(work):
    yard, pulls = work / "yard.db", work / "pulls.db"
    subprocess.run([MAKE_RECORD, yard], check=True)
    subprocess.run([MAKE_PULLS, pulls], check=True)
    runs = [n for n, in ask(yard, "SELECT id FROM run WHERE to_us IS NOT NULL")]
    say("there are runs to bring in again", runs)
    for run in runs:
        for shape in ("wide", "tidy"):
            again(work, yard, run, shape)
    again(work, pulls, 1, "wide")
    say("an estimate was made", estimated(pulls, 1)["pulls"], estimated(pulls, 1))
    simulated = reeve("export", f"{yard}:1", "--to", work / "played")
    copy = work / "copy-yard-1-wide.db"
    say("what was played stays SIMULATED", simulated.returncode == 0 and
        ask(yard, "SELECT v.simulated FROM run r, station_version v WHERE r.id = 1 AND "
                  "v.id = r.station") ==
        ask(copy, "SELECT v.simulated FROM run r, station_version v WHERE r.id = 1 AND "
                  "v.id = r.station"))


def refusals(work):
    folder = work / "refused"
    folder.mkdir()
    table = folder / "readings.csv"
    table.write_text("time_s,lead_n\n0,1\n", encoding="utf-8")
    done = reeve("import", work / "r.db", table)
    say("without station and metadata it is used wrongly", done.returncode == 2 and
        "--station" in done.stderr, done.stderr)
    for name, text, words in [
            ("no JSON", "{", "metadata.json:1:"),
            ("another shape", '{"url": "readings.csv", "notes": [{"run": {"name": 1}}]}', "--station"),
            ("a bad station", '{"url": "readings.csv", "notes": [{"run": {"name": "a", "notes": "", '
             '"start_us": 1, "end_us": 2, "rig": null, "station": {"station": "b", "channels": '
             '{"lead": {"quantity": "mood"}}}}}]}', "mood")]:
        (folder / "metadata.json").write_text(text, encoding="utf-8")
        done = reeve("import", work / "r.db", table)
        say(f"refused: {name}", done.returncode == 1 and words in done.stderr, done.stderr)
    say("nothing was made", not list(work.glob("r.db*")))


def start_import(work, record, table):
    return subprocess.Popen([REEVE, "import", record, table, "--station", work / "far.yaml"],
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def kills(work):
    dice = random.Random(SEED)
    record, table = work / "pulls.db", work / "long.csv"
    (work / "far.yaml").write_text(STATION, encoding="utf-8")
    with table.open("w", encoding="utf-8") as out:
        out.write("time_s,lead_n,out_m\n")
        out.writelines(f"{i * 0.01:.2f},{i % 977 * 1.25},{i * 0.001:.3f}\n" for i in range(ROWS))
    began = time.monotonic()
    subprocess.run([REEVE, "import", work / "first.db", table, "--station", work / "far.yaml"],
                   check=True, capture_output=True, timeout=120)
    took = time.monotonic() - began
    before = ask(record, "SELECT run, count(*), sum(value) FROM reading GROUP BY run")
    left = 0
    for number in range(KILLS):
        process = start_import(work, record, table)
        time.sleep(dice.uniform(0.05, 0.9) * took)
        process.send_signal(signal.SIGKILL if number else signal.SIGINT)
        process.communicate(timeout=120)
        ended = process.returncode == 0
        rows = ask(record, "SELECT count(*) FROM narrow WHERE t_us < 864000000000")[0][0]
        left += rows > 0 and not ended
        if ended or ask(record, "SELECT run, count(*), sum(value) FROM reading GROUP BY run") != before:
            failures.append(f"round {number}: seen half, or ended before it was killed")
        if number == 0 and rows:
            failures.append("what Ctrl-C stopped left rows behind")
        sound = ask(record, "PRAGMA integrity_check")[0][0]
        if sound != "ok":
            failures.append(f"round {number}: {sound}")
    say("kills met rows under way", left > 0, "nothing was tried")
    done = start_import(work, record, table)
    told = done.communicate(timeout=120)
    say("the next import clears and works", done.returncode == 0, told)
    after = ask(record, "SELECT run, count(*), sum(value) FROM reading GROUP BY run")
    say("what was there is there", after[:-1] == before, after)
    say("and all of the new run", after[-1][1] == 2 * ROWS, after[-1])
    say("no row is left of the others", ask(record, "SELECT count(*) FROM narrow WHERE "
                                            "t_us < 864000000000")[0][0] == ROWS)


def one_writer(work):
    """A record that another program writes is refused, and stays as it is."""
    first = start_import(work, work / "pulls.db", work / "long.csv")
    deadline = time.monotonic() + 30
    while not ask(work / "pulls.db", "SELECT 1 FROM device WHERE name = 'import 8'") and \
            first.poll() is None and time.monotonic() < deadline:
        time.sleep(0.005)
    second = reeve("import", work / "pulls.db", work / "pulls-1-wide" / "readings.csv",
                   "--name", "meanwhile")
    told = first.communicate(timeout=120)
    say("a record that is being written is refused", second.returncode == 1 and
        "pulls.db" in second.stderr, second.stderr)
    say("and the writer goes on", first.returncode == 0, told)
    say("nothing of the refused one is there", not ask(work / "pulls.db", "SELECT 1 FROM run WHERE "
                                                       "name = 'meanwhile'"))


def many_channels(work):
    """More channels than one message carries."""
    names = [f"t{i}" for i in range(40)]
    (work / "many.yaml").write_text("station: Many\nchannels:\n" + "".join(
        f"  {name}: {{quantity: other, unit: degC}}\n" for name in names), encoding="utf-8")
    (work / "many.csv").write_text("time;" + ";".join(names) + "\n" + "".join(
        f"2026-03-31T10:{i:02d}:00,5;" + ";".join(f"{k},{i:02d}" for k in range(40)) + "\n"
        for i in range(60)), encoding="utf-8")
    done = reeve("import", work / "many.db", work / "many.csv", "--station", work / "many.yaml",
                 "--json")
    say("forty channels", done.returncode == 0 and json.loads(done.stdout)["readings"] == 2400,
        done.stderr)
    say("times without Z are UTC, and it is said", "UTC" in done.stderr, done.stderr)
    rows = ask(work / "many.db", "SELECT value FROM reading WHERE channel = 't39' ORDER BY t_us")
    say("each in its channel", [round(v, 6) for v, in rows] == [39 + i / 100 for i in range(60)],
        rows[:3])
    say("at their time", ask(work / "many.db", "SELECT min(t_us) FROM reading") ==
        [(1774951200500000,)], ask(work / "many.db", "SELECT min(t_us) FROM reading"))


def main():
    with tempfile.TemporaryDirectory(prefix="reeve-import-") as folder:
        work = pathlib.Path(folder)
        round_trips(work)
        refusals(work)
        kills(work)
        one_writer(work)
        many_channels(work)
    print(f"{count - len(failures)} passed, {len(failures)} failed")
    for failure in failures:
        print(failure)
    sys.exit(bool(failures))


main()
