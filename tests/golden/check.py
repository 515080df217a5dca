#!/usr/bin/python3
"""reeve check hands its words to the daemon beside it, and hands back what that says.
usage: check.py REEVE"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

SPEAKS = '#!/bin/sh\necho "$0|$*" | sed "s|.*/||"\necho trouble >&2\nexit %d\n'
failed = passed = 0


def see(label, got, want):
    global passed, failed
    if got == want:
        passed += 1
    else:
        failed += 1
        print(f"{label}: got {got!r}, want {want!r}")


def run(reeve, *words, path=None):
    done = subprocess.run([reeve, "check", *words], capture_output=True, text=True, timeout=30,
                          env={**os.environ, **({"PATH": path} if path is not None else {})})
    return done.returncode, done.stdout, done.stderr


def put(place, status):
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(SPEAKS % status, encoding="utf-8")
    place.chmod(0o755)


with tempfile.TemporaryDirectory() as scratch:
    root = pathlib.Path(scratch)
    reeve = root / "tools" / "reeve"
    reeve.parent.mkdir()
    shutil.copy(sys.argv[1], reeve)

    code, out, err = run(reeve, "a.yaml", path=str(root / "nowhere"))
    see("no daemon anywhere", (code, out, "cannot run reeved" in err), (1, "", True))
    put(root / "bin" / "reeved", 5)
    usual = f"{root / 'bin'}:{os.environ['PATH']}"
    see("found on the path", run(reeve, "a.yaml", path=usual),
        (5, "reeved|-n -c a.yaml\n", "trouble\n"))
    put(root / "daemon" / "reeved", 1)
    see("found in the build tree", run(reeve, "a b.yaml", path=usual),
        (1, "reeved|-n -c a b.yaml\n", "trouble\n"))
    put(root / "tools" / "reeved", 0)
    see("found in the same folder, with --probe", run(reeve, "--probe", "a.yaml", path=usual),
        (0, "reeved|-n -c a.yaml --probe\n", "trouble\n"))
    see("as JSON", run(reeve, "--json", "--probe", "a.yaml", path=usual),
        (0, "reeved|-n -c a.yaml --probe --json\n", "trouble\n"))
    see("used wrongly", run(reeve)[0], 2)
    see("help", run(reeve, "--help")[0], 0)
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or not passed else 0)
