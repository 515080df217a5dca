#!/usr/bin/python3
"""Bad input: each folder of read/ holds a rig.yaml, station.yaml, import.yaml or calibration.yaml
and expect.err, the one line that must be said of it; a file with expect.err "read" must be taken.
A text that is long or no text is described instead, in KIND.make.json: see made().
usage: read.py READ_FILE FOLDER"""
import json
import pathlib
import subprocess
import sys
import tempfile

KINDS = ("rig", "station", "import", "calibration")
program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
passed = failed = 0


def made(case, scratch):
    """The file of a case; written out first where it is only described."""
    for kind in KINDS:
        plain, described = case / f"{kind}.yaml", case / f"{kind}.make.json"
        if plain.exists():
            return kind, plain
        if described.exists():
            # A list of parts: a text, or [text, count] with {i} for the number of the copy.
            text = ""
            for part in json.loads(described.read_text(encoding="utf-8")):
                text += part if isinstance(part, str) else "".join(
                    part[0].replace("{i}", str(i)) for i in range(part[1]))
            path = pathlib.Path(scratch) / f"{kind}.yaml"
            path.write_bytes(text.encode("latin-1"))
            return kind, path
    raise SystemExit(f"{case}: no file")


with tempfile.TemporaryDirectory() as scratch:
    for case in sorted(p for p in folder.iterdir() if p.is_dir()):
        kind, path = made(case, scratch)
        want = (case / "expect.err").read_text(encoding="utf-8").strip()
        got = subprocess.run([program, kind, str(path)], capture_output=True, text=True, timeout=30)
        line = got.stdout.strip()
        if line == want and got.returncode == (0 if want == "read" else 1) and not got.stderr:
            passed += 1
        else:
            failed += 1
            print(f"{case.name}:\n  want {want}\n  got  {line} (exit {got.returncode}) {got.stderr}")
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or not passed else 0)
