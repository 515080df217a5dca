#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The benches run, print what tools/bench lists, and count no allocation; how long anything takes is
not looked at.  usage: check.py ROOT BUILD"""
import importlib.machinery
import importlib.util
import os
import sys

root, os.environ["BUILD"] = sys.argv[1:3]
sys.dont_write_bytecode = True
loader = importlib.machinery.SourceFileLoader("bench", f"{root}/tools/bench")
bench = importlib.util.module_from_spec(importlib.util.spec_from_loader("bench", loader))
loader.exec_module(bench)


def statistics_of_known_pairs():
    told = {"name": "x", "of": "y", "unit": "us", "at_most": 3.5, "reference": "bare",
            "pairs": [[8, 1], [2, 1], [4, 4], [6, 2], [5, 5]]}
    made = bench.figure(told, "here")
    want = {"value": 5, "low": 4, "high": 6, "reference_value": 2, "ratio": 2, "ratio_low": 1,
            "ratio_high": 3, "pairs": 5, "met": False}
    assert {key: made[key] for key in want} == want, made
    assert bench.figure(dict(told, at_most=5.0), "here")["met"] is True
    assert bench.figure(dict(told, at_most=None), "here")["met"] is None


def every_bench_prints_its_figures():
    for program, names in bench.BENCHES.items():
        lines = bench.measure(program, 5)
        assert [line["name"] for line in lines] == names, (program, lines)
        for line in lines:
            made = bench.figure(line, bench.machine())
            assert made["of"] and made["unit"], made
            if "count" in line:
                assert line["count"] <= line["at_most"], line
                continue
            assert made["pairs"] == 5 and made["reference"], made
            assert all(value > 0 and bare > 0 for value, bare in line["pairs"]), line
            assert made["low"] <= made["value"] <= made["high"], made
            assert made["ratio_low"] <= made["ratio"] <= made["ratio_high"], made


statistics_of_known_pairs()
every_bench_prints_its_figures()
