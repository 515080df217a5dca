#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs reeve on the cases below one folder and compares what it says and how it leaves.

usage: golden.py REEVE FOLDER COMMAND [--write]

Each case is a folder with `args` (one to a line) and what it needs; `expect.out` is standard output,
`expect.rc` the exit status (0 when absent), `expect.err` standard error where it matters.  JSON is
compared key for key, in order, numbers to nine digits; everything else letter for letter.
"""
import json
import math
import pathlib
import subprocess
import sys


def same(got, want, where):
    """A list of the places where two JSON values differ."""
    if isinstance(got, bool) or isinstance(want, bool) or got is None or want is None:
        return [] if got is want else [f"{where}: {got} instead of {want}"]
    if isinstance(got, (int, float)) and isinstance(want, (int, float)):
        close = math.isclose(got, want, rel_tol=1e-9, abs_tol=1e-6)
        return [] if close else [f"{where}: {got} instead of {want}"]
    if type(got) is not type(want):
        return [f"{where}: {got} instead of {want}"]
    if isinstance(got, dict):
        if list(got) != list(want):
            return [f"{where}: keys {list(got)} instead of {list(want)}"]
        return [d for key in got for d in same(got[key], want[key], f"{where}.{key}")]
    if isinstance(got, list):
        if len(got) != len(want):
            return [f"{where}: {len(got)} entries instead of {len(want)}"]
        return [d for i in range(len(got)) for d in same(got[i], want[i], f"{where}[{i}]")]
    return [] if got == want else [f"{where}: {got} instead of {want}"]


def compare(got, want, is_json):
    if is_json:
        return same(json.loads(got), json.loads(want), "")
    return [] if got == want else [f"--- want\n{want}--- got\n{got}"]


def run(reeve, command, case, write):
    args = (case / "args").read_text(encoding="utf-8").splitlines()
    done = subprocess.run([reeve, command, *args], cwd=case, capture_output=True, timeout=60,
                          encoding="utf-8", check=False)
    if write:
        (case / "expect.out").write_text(done.stdout, encoding="utf-8")
        (case / "expect.rc").write_text(f"{done.returncode}\n", encoding="utf-8")
    want_rc = case / "expect.rc"
    want_err = case / "expect.err"
    differences = compare(done.stdout, (case / "expect.out").read_text(encoding="utf-8"),
                          "--json" in args)
    if done.returncode != (int(want_rc.read_text()) if want_rc.exists() else 0):
        differences.append(f"exit status {done.returncode}\n{done.stderr}")
    if want_err.exists() and done.stderr != want_err.read_text(encoding="utf-8"):
        differences.append(f"standard error:\n{done.stderr}")
    return differences


def main():
    reeve, folder, command = sys.argv[1:4]
    cases = sorted(path.parent for path in pathlib.Path(folder).glob("*/args"))
    failed = 0
    for case in cases:
        differences = run(str(pathlib.Path(reeve).resolve()), command, case,
                          "--write" in sys.argv[4:])
        failed += bool(differences)
        print(f"{case.name}: {'FAILED' if differences else 'ok'}")
        for difference in differences:
            print(f"  {difference}")
    if not cases:
        sys.exit("no cases")
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


main()
