#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Builds the gallery of the library and checks that nothing on its page is missing or from outside.

usage: gallery.py GALLERY BUILD RIGS
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile


def main():
    gallery, build, rigs = sys.argv[1:]
    with tempfile.TemporaryDirectory() as out:
        subprocess.run([gallery, out], env={**os.environ, "BUILD": build}, timeout=100, check=True)
        page = (pathlib.Path(out) / "index.html").read_text(encoding="utf-8")
        names = {path.stem for path in pathlib.Path(rigs).glob("*.yaml")}
        assert set(re.findall(r'<section id="([^"]+)"', page)) == names, "a rig is missing"
        assert set(re.findall(r'href="#([^"]+)"', page)) == names, "a link is missing"
        pictures = re.findall(r'<img src="([^"]+)"', page)
        assert len(pictures) + 2 * page.count("Not planned:") == 2 * len(names), "a picture is missing"
        for picture in pictures:
            text = (pathlib.Path(out) / picture).read_text(encoding="utf-8")
            assert text.lstrip().startswith(("<svg", "<?xml")), f"{picture} is no drawing"
        assert not re.search(r'(src|href)="(https?:)?//', page), "something comes from outside"
        print(f"{len(pictures)} pictures")


main()
