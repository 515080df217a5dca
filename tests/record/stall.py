#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the recorder on a disk that stalls.  usage: stall.py STALL SHIM"""
import os
import subprocess
import sys
import tempfile

program, shim = sys.argv[1:3]
with tempfile.TemporaryDirectory() as folder:
    switch = os.path.join(folder, "stall")
    done = subprocess.run(
        [program, os.path.join(folder, "yard.db"), switch], timeout=120, check=False,
        env={**os.environ, "LD_PRELOAD": shim, "ASAN_OPTIONS": "verify_asan_link_order=0",
             "RV_SYNC_MS": "4000", "RV_SYNC_WHEN": switch})
sys.exit(done.returncode)
