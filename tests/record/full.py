#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the recorder where its file may not grow.  usage: full.py FULL"""
import os
import subprocess
import sys
import tempfile

with tempfile.TemporaryDirectory() as folder:
    done = subprocess.run([sys.argv[1], os.path.join(folder, "yard.db")], timeout=170, check=False)
sys.exit(done.returncode)
