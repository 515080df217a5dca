#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""reeve compare on a record of six runs whose sheaves differ by one percentage point."""
import json
import pathlib
import subprocess
import sys
import tempfile

REEVE, MAKE = sys.argv[1:3]


def compare(*args, status=0):
    done = subprocess.run([REEVE, "compare", *args], capture_output=True, encoding="utf-8", timeout=60,
                          check=False)
    assert done.returncode == status, (args, done.returncode, done.stderr)
    return done


with tempfile.TemporaryDirectory() as folder:
    record = str(pathlib.Path(folder) / "pulls.db")
    subprocess.run([MAKE, record], check=True, timeout=60)

    told = json.loads(compare(f"{record}:1+3+5", f"{record}:2+4+6", "--json").stdout)
    assert list(told) == ["groups", "differences", "needed", "warnings"], told
    assert [g["runs"] for g in told["groups"]] == [[1, 3, 5], [2, 4, 6]], told
    assert all(g["n"] == 9 and g["efficiency"]["coverage"] == 0.95 for g in told["groups"]), told
    one = told["differences"][0]
    assert list(one) == ["a", "b", "ratio_difference", "low", "high", "dof", "verdict"], one
    assert one["low"] <= -0.0095 and -0.0105 <= one["high"] < 0 and one["verdict"] == "differ", one
    assert told["needed"]["difference_ratio"] == 0.01 and told["needed"]["power_80"] >= 2, told
    assert told["warnings"] == [], told

    told = json.loads(compare(f"{record}:1", f"{record}:5", "--json", "--difference", "0.5 %").stdout)
    one = told["differences"][0]
    assert one["verdict"] == "not shown to differ" and one["low"] < 0 < one["high"], one
    assert told["needed"]["difference_ratio"] == 0.005, told
    assert "drift_confounded" in [w["code"] for w in told["warnings"]], told

    # two runs in a group: compared, though they have no interval of their own
    told = json.loads(compare(f"{record}:1+3", f"{record}:2+{record}:4", "--json").stdout)
    assert told["groups"][0]["efficiency"] is None, told
    assert "runs_pooled" in [w["code"] for w in told["warnings"]], told

    text = compare(f"{record}:1+3+5", f"{record}:2+4+6").stdout
    assert "they differ" in text and "pulls in each group" in text, text
    assert "no run" in compare(f"{record}:1", f"{record}:9", status=1).stderr
    compare(f"{record}:1", status=2)
    compare("1+2", f"{record}:3", status=2)
    compare(f"{record}:1", f"{record}:2", "--difference", "60%", status=2)
