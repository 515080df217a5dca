#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The file that reeve calibrate writes: it holds what was printed, names its points by their digest,
and a station takes it.

usage: calibrate_file.py REEVE POINTS.csv SCENARIO
"""
import datetime
import hashlib
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

import yaml

failed = passed = 0


def see(label, got, want):
    global passed, failed
    if got == want:
        passed += 1
    else:
        failed += 1
        print(f"{label}: got {got!r}, want {want!r}")


def run(*words):
    done = subprocess.run([sys.argv[1], *map(str, words)], capture_output=True, text=True,
                          timeout=30, check=False)
    return done.returncode, done.stdout, done.stderr


def newtons(text):
    number, unit = text.split()
    see("unit of the span", unit, "N")
    return float(number)


points, scenario = pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
with tempfile.TemporaryDirectory() as scratch:
    out = pathlib.Path(scratch) / "eye-2026.yaml"
    days = [datetime.date.today()]
    code, text, err = run("calibrate", points, "--out", out, "--json")
    days.append(datetime.date.today())
    see("written", (code, err), (0, ""))
    said = json.loads(text)
    held = yaml.load(out.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    see("name", held["calibration"], "eye-2026")
    see("day", held["made"] in [day.isoformat() for day in days], True)
    see("digest", held["points"], hashlib.sha256(points.read_bytes()).hexdigest())
    see("coefficients, bit for bit", [float(c) for c in held["coefficients"]],
        said["coefficients"])
    see("way back, bit for bit", [float(c) for c in held["inverse"]], said["inverse"])
    see("span", [newtons(force) for force in held["span"]], said["span_n"])

    # A reading of the curve at 20 kN, by hand, comes back as 20 kN.
    reading = sum(c * 20000.0**k for k, c in enumerate(said["coefficients"]))
    back = sum(a * reading**k for k, a in enumerate(said["inverse"]))
    see("there and back", abs(back - 20000.0) <= said["inverse_error_n"] + 1e-6, True)

    shutil.copy(scenario / "rig.yaml", scratch)
    station = (scenario / "station.yaml").read_text(encoding="utf-8")
    by_scale = "scale: 5 N, zero: 8388"
    see("the station has the channel", by_scale in station, True)
    place = pathlib.Path(scratch) / "station.yaml"
    place.write_text(station.replace(by_scale, f"calibration: {out.name}"), encoding="utf-8")
    code, text, err = run("check", place)
    see("a station takes it", (code, err), (0, ""))
    see("and says so", "eye-2026" in text, True)

    before = out.read_bytes()
    code, text, err = run("calibrate", scenario / "station.yaml", "--out", out)
    see("a refusal leaves the file", (code, out.read_bytes() == before), (1, True))
    long = pathlib.Path(scratch) / ("x" * 70 + ".yaml")
    see("a name too long", (run("calibrate", points, "--out", long)[0], long.exists()), (1, False))
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or not passed else 0)
