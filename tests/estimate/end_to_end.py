"""A played session from a table to an answer, through the real programs.

usage: end_to_end.py REEVE PLAY FOLDER
The efficiency that was played is 0.96 for every sheave.
"""
import json
import pathlib
import subprocess
import sys
import tempfile

REEVE, PLAY, FOLDER = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
TRUTH = 0.96
KEYS = {"runs", "rig", "mode", "unit", "refused", "cells", "sheaves", "sheaves_effective",
        "efficiency", "relative_gain", "declared", "by_direction", "per_sheave", "pulls",
        "motion_source", "loss", "rig_agreement", "budget", "warnings", "estimand"}
failures = []
count = 0


def say(name, ok, why=""):
    global count
    count += 1
    print(f"{'ok' if ok else 'FAILED'}: {name}{'' if ok else ': ' + str(why)}")
    if not ok:
        failures.append(name)


def reeve(*words):
    return subprocess.run([REEVE, *map(str, words)], capture_output=True, text=True, timeout=120)


def play(*words):
    return subprocess.run([PLAY, *map(str, words)], capture_output=True, text=True, check=True,
                          timeout=120).stdout


def bring_in(work, record, table, *more, station="elsewhere.yaml"):
    path = work / "table.csv"
    path.write_text(table, encoding="utf-8")
    return reeve("import", work / record, path, "--station", FOLDER / station,
                 "--rig", FOLDER / "four_parts.yaml", *more)


def estimate(work, *runs, options=()):
    done = reeve("estimate", *[work / run for run in runs], *options, "--json")
    return done, json.loads(done.stdout)


def covers(told, truth=TRUTH):
    answer = told["efficiency"]
    return answer and answer["low_ratio"] <= truth <= answer["high_ratio"]


def answers(work):
    table = play(5, 5, 5, 0)
    done = bring_in(work, "yard.db", table, "--name", "five cycles")
    say("a table comes in", done.returncode == 0 and "run 1" in done.stdout, done.stderr)
    done, told = estimate(work, "yard.db:1")
    say("five cycles cover what was played", done.returncode == 0 and covers(told), told)
    say("every key of the contract is there", KEYS <= told.keys(), KEYS - told.keys())
    say("by cycles", told["mode"] == "cycles" and told["unit"] == "cycle", told["mode"])
    say("four sheaves are in question", len(told["sheaves"]) == 4, told["sheaves"])
    say("ten pulls were kept", sum(p["kept"] for p in told["pulls"]) == 10, told["pulls"])
    text = reeve("estimate", work / "yard.db:five cycles").stdout
    say("no line is longer than 80", max(map(len, text.splitlines())) <= 80,
        max(text.splitlines(), key=len))
    bring_in(work, "yard.db", play(16, 5, 0, 0), "--name", "hauls")
    done, told = estimate(work, "yard.db:hauls")
    say("hauls go by the stated gain", told["mode"] == "hauls" and covers(told), told)
    say("their gain is in the budget", any("gain" in b["source"] for b in told["budget"]),
        told["budget"])
    bring_in(work, "yard.db", play(7, 2, 0, 0), "--name", "two hauls held")
    runs = [f"yard.db:{n}" for n in (1, 2)]
    done, told = estimate(work, *runs)
    say("two runs are refused", done.returncode == 1 and told["refused"]["code"] in
        ("two_sessions", "not_in_cycles"), told["refused"])


def same_by_any_spelling(work):
    table = play(8, 4, 4, 0)
    bring_in(work, "alike.db", table)
    comma = table.replace(",", ";").replace(".", ",")
    say("semicolon and decimal comma", bring_in(work, "alike.db", comma).returncode == 0)
    rows = [row.split(",") for row in table.splitlines()[1:]]
    mapped = ["Force one,time,dead end_n,payout_m"]
    for t, near, far, out in rows:
        minutes, seconds = divmod(float(t), 60.0)
        near = f"{float(near) / 1000:.7f}" if near else ""
        mapped.append(f"{near},2026-05-01T10:{int(minutes):02d}:{seconds:09.6f}Z,{far},{out}")
    done = bring_in(work, "alike.db", "\r\n".join(mapped), "--map", "Force one=lead kN")
    say("mapped, in kN, with ISO times", done.returncode == 0, done.stderr)
    told = [estimate(work, f"alike.db:{n}")[1]["efficiency"]["ratio"] for n in (1, 2, 3)]
    say("all three say the same", max(told) - min(told) < 1e-9, told)


def refusals(work):
    table = play(9, 2, 2, 0)
    lines = table.splitlines()
    late = "\n".join(lines[:50] + [lines[30]] + lines[50:])
    done = bring_in(work, "late.db", late)
    say("a late row is left out and named", done.returncode == 0 and ":51:" in done.stderr,
        done.stderr)
    for name, bad, words in [
            ("late.db", "\n".join(lines[:1] + lines[:0:-1]), "more than 1 %"),
            ("new.db", table.replace("payout_m", "paid_m"), "paid_m"),
            ("new.db", "\n".join(lines[:99] + ["1.0,abc,,"] + lines[100:]), ":100:"),
            ("new.db", "\n".join(lines[:99] + ["1.0,5"] + lines[100:]), ":100:"),
            ("new.db", lines[0], "no row"),
            ("new.db", table.replace("time_s", "when"), "when")]:
        before = reeve("runs", work / name, "--json").stdout
        done = bring_in(work, name, bad)
        say(f"refused: {words}", done.returncode == 1 and words in done.stderr, done.stderr)
        say("and the record is as it was", reeve("runs", work / name, "--json").stdout == before)
    say("no file is left of a failed import", not list(work.glob("new.db*")),
        list(work.glob("new.db*")))
    done, told = estimate(work, "late.db:1")
    say("two cycles are not enough for cycles, hauls go on", told["mode"] in ("hauls", None), told)
    done = reeve("estimate", work / "late.db:1", "--cells", "lead,nowhere")
    say("a cell that is none is named", done.returncode == 1 and "dead end" in done.stderr,
        done.stderr)


def main():
    with tempfile.TemporaryDirectory(prefix="reeve-estimate-") as folder:
        work = pathlib.Path(folder)
        answers(work)
        same_by_any_spelling(work)
        refusals(work)
    print(f"{count - len(failures)} passed, {len(failures)} failed")
    sys.exit(bool(failures))


main()
