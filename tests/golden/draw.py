#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""reeve plan --svg: what it writes, and what it leaves alone.

usage: draw.py REEVE RIGS
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

reeve, rigs = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2])
rig = str(rigs / "forest-two-part-corner.yaml")
passed, failed = 0, 0


def check(what, is_so):
    global passed, failed
    passed, failed = passed + bool(is_so), failed + (not is_so)
    if not is_so:
        print(f"not so: {what}")


def draw(path, *more, limit=None):
    shell = ["sh", "-c", f"ulimit -f {limit}; exec \"$@\"", "sh"] if limit is not None else []
    # Signals ignored here (SIGXFSZ) stay so: the limit comes back from write(2), as a full disk does.
    return subprocess.run([*shell, reeve, "plan", rig, "--svg", str(path), *more], capture_output=True,
                          timeout=60, encoding="utf-8", check=False, restore_signals=False)


def look(path):
    """Well-formed, complete in itself, and no style sheet that a page's policy would forbid."""
    text = path.read_text(encoding="utf-8")
    root = tree.fromstring(text)
    names = {element.tag.rsplit("}", 1)[1] for element in root.iter()}
    check(f"{path.name} is SVG", root.tag == "{http://www.w3.org/2000/svg}svg" and "viewBox" in root.attrib)
    check(f"{path.name} has no script, style or foreign parts",
          not names & {"script", "style", "foreignObject", "image", "use", "a"})
    check(f"{path.name} has no style attribute and no event", not any(
        name == "style" or name.startswith("on") for element in root.iter() for name in element.attrib))
    check(f"{path.name} asks for nothing from elsewhere", set(re.findall(r"url\(([^)]*)\)", text)) <=
          {"#reeve-" + name for name in ("bight", "clear", "near", "over")})
    check(f"{path.name} refers to what is there", all(
        f'id="{name}"' in text for name in re.findall(r"url\(#([^)]*)\)", text)))
    return text


with tempfile.TemporaryDirectory() as made:
    folder = pathlib.Path(made)
    os.umask(0o022)
    out = folder / "rig.svg"
    done = draw(out)
    check("the plan is printed as well", done.returncode == 0 and "line pull" in done.stdout)
    text = look(out)
    check("the weakest part is named", "First to reach its limit: wire" in text)
    check("a drawing has the usual mode", out.stat().st_mode & 0o777 == 0o644)
    check("the unit is the one asked for", "klbf" in draw(out, "--unit", "klbf").stdout and
          "klbf" in out.read_text(encoding="utf-8") and "kN" not in out.read_text(encoding="utf-8"))
    done = draw(out, "--json")
    check("JSON stays JSON", done.returncode == 0 and done.stdout.startswith("{"))
    os.chmod(out, 0o600)
    draw(out)
    check("a drawing that takes another's place keeps its mode", out.stat().st_mode & 0o777 == 0o600)
    link = folder / "link.svg"
    link.symlink_to(out)
    check("a link stays a link", draw(link).returncode == 0 and link.is_symlink())

    before = out.read_bytes()
    done = draw(out, limit=0)
    check("a full disk is told", done.returncode != 0)
    check("a full disk costs nothing that was there", out.read_bytes() == before)
    both = folder / "parts.svg"
    done = draw(out, "--schematic", str(both))
    check("both pictures at once", done.returncode == 0 and "lead\u00a0line" in look(both))
    both.unlink()
    (folder / "held").mkdir()
    done = draw(folder / "held")
    check("a folder is refused", done.returncode == 1 and "a folder stands there" in done.stderr)
    os.mkfifo(folder / "pipe")
    check("a pipe is refused", draw(folder / "pipe").returncode == 1)
    done = draw(folder / "nowhere" / "rig.svg")
    check("a missing folder is told", done.returncode == 1 and "nowhere" in done.stderr)
    check("nothing is left behind", sorted(path.name for path in folder.iterdir()) ==
          ["held", "link.svg", "pipe", "rig.svg"])
    lines = (rigs / "forest-two-part-corner.yaml").read_text(encoding="utf-8")
    (folder / "bad.yaml").write_text(lines.replace("points:", "pionts:"), encoding="utf-8")
    rig = str(folder / "bad.yaml")
    check("a rig that does not read is not drawn", draw(folder / "bad.svg").returncode == 1 and
          not (folder / "bad.svg").exists())

print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed or not passed else 0)
