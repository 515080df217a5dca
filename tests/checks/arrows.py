#!/usr/bin/python3
"""Proves the order of the rooms: see rooms.txt.  usage: arrows.py ROOT"""
import fnmatch
import pathlib
import re
import sys

LONGEST = 400
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)

root = pathlib.Path(sys.argv[1])
order, foreign = [], []
for line in (root / "tests/checks/rooms.txt").read_text(encoding="utf-8").splitlines():
    words = line.split("#")[0].split()
    if not words:
        continue
    if words[0] == "foreign":
        foreign.append((words[1], words[2:]))
    else:
        order.append(words[0])

faults = [f"rooms.txt lists {room} twice" for room in set(order) if order.count(room) > 1]
place = {room: i for i, room in enumerate(order)}
sees = {"core": {"core"}, "schema": {"core", "schema"}, "daemon": {"core", "schema", "daemon"},
        "tools": {"core", "schema", "tools"}}
checked = 0
found = set()
for folder in sees:
    for path in sorted((root / folder).rglob("*.[ch]")):
        name = path.relative_to(root).as_posix()
        room = name[:-2]
        found.add(room)
        text = path.read_text(encoding="utf-8")
        lines = text.count("\n")
        if lines > LONGEST:
            faults.append(f"{name}: {lines} lines, more than {LONGEST}: make two rooms of it")
        if room not in place:
            faults.append(f"{name}: not in rooms.txt: give it a place in the order")
            continue
        for kind, header in INCLUDE.findall(text):
            checked += 1
            if kind == "<":
                for pattern, rooms in foreign:
                    if fnmatch.fnmatch(header, pattern) and not any(
                            fnmatch.fnmatch(room, r) for r in rooms):
                        faults.append(f"{name}: <{header}> belongs in {' '.join(rooms)} only")
                continue
            other = header[:-2] if header.endswith((".h", ".c")) else header
            if other == room:
                continue
            if other.split("/")[0] not in sees[folder]:
                faults.append(f"{name}: {folder}/ must not see {header}")
            elif other not in place:
                faults.append(f"{name}: {header} is not in rooms.txt")
            elif place[other] > place[room]:
                faults.append(f"{name}: {header} stands below it")
faults += [f"rooms.txt lists {room}, which is not there" for room in order if room not in found]
for fault in faults:
    print(fault)
print(f"{checked} includes of {len(found)} rooms looked at")
print(f"{0 if faults else 1} passed, {len(faults)} failed")
sys.exit(1 if faults or not checked else 0)
