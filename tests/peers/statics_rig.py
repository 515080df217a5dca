# SPDX-License-Identifier: GPL-3.0-or-later
"""A rig file as plain Python, for the statics peer; it shares nothing with reeve's reader.

Read with PyYAML; positions in m, forces in N, as (x, y, z) whatever the rig's dimensions.
"""
import math
import re

import yaml

GRAVITY = 9.80665
FORCE = {"N": 1.0, "daN": 10.0, "kN": 1e3, "kgf": GRAVITY, "tf": 1e3 * GRAVITY,
         "lbf": 0.45359237 * GRAVITY, "klbf": 453.59237 * GRAVITY}
MASS = {"kg": 1.0, "t": 1000.0, "lb": 0.45359237}
LENGTH = {"m": 1.0, "ft": 0.3048, "cm": 0.01, "mm": 0.001, "in": 0.0254}


def number(value, units):
    """A plain number, "80 %" or a number with one of the units."""
    if isinstance(value, (int, float)):
        return float(value)
    found = re.fullmatch(r"\s*([-+0-9.eE]+)\s*(\S+)\s*", value)
    unit = found.group(2)
    return float(found.group(1)) * (0.01 if unit == "%" else units[unit])


def force(value, stamped=False):
    return number(value, {**FORCE, **({k: v * GRAVITY for k, v in MASS.items()} if stamped else {})})


def span(value, read):
    """low, middle, high."""
    if isinstance(value, list):
        low, high = (read(v) for v in value)
        return low, 0.5 * (low + high), high
    return (read(value),) * 3


def limit(entry):
    """What a component may carry, or None."""
    if "wll" in entry:
        return force(entry["wll"], True)
    if "rated" in entry:
        return force(entry["rated"], True)
    if "mbs" in entry and "design_factor" in entry:
        return force(entry["mbs"], True) / entry["design_factor"]
    return None


def metres(value):
    return number(value, LENGTH)


def vector(values):
    return [float(v) for v in values] + [0.0] * (3 - len(values))


class Rig:
    """names: what each word of a path is; pieces: lines cut where something is made fast to them."""

    def __init__(self, text):
        told = yaml.safe_load(text)
        self.told = told
        self.out = told.get("haul") == "out"
        self.points = told["points"]
        self.loads = told.get("loads") or {}
        self.winches = told.get("winches") or {}
        self.blocks = told.get("blocks") or {}
        self.lines = told["lines"]
        self.fittings = told.get("fittings") or {}
        self.cells = told.get("cells") or {}
        self.drive = told.get("drive") or {}
        self.at, self.floats, self.rides, self.outside = {}, [], {}, {}
        self.places()
        self.flat = not any(self.is_high(entry) for entry in self.points.values())
        self.pendants = {}
        for name, entry in self.blocks.items():
            if "hangs" in entry:
                self.hang(name, entry)
        self.pieces, self.legs, self.passes = [], [], []
        used = {}
        for line, entry in self.lines.items():
            self.cut(line, entry, used)
        for block, (point, pin, length) in self.pendants.items():
            self.pieces.append({"line": block + " pendant", "nodes": [point, pin], "blocks": [],
                                "winch": None, "length": length, "words": [point, pin],
                                "pendant": True})

    @staticmethod
    def is_high(entry):
        at = entry["at"]
        return len(at) == 3 if isinstance(at, list) else "rise" in at

    def places(self):
        """Points in any order: those measured from others wait for them."""
        waiting = dict(self.points)
        while waiting:
            for name, entry in list(waiting.items()):
                at = entry["at"]
                if isinstance(at, dict):
                    if at["from"] not in self.at:
                        continue
                    way = math.radians(number(at["bearing"], {}))
                    far, rise = metres(at["distance"]), metres(at.get("rise", 0))
                    base = self.at[at["from"]]
                    self.at[name] = [base[0] + far * math.sin(way),
                                     base[1] + far * math.cos(way), base[2] + rise]
                else:
                    self.at[name] = vector([metres(v) for v in at])
                del waiting[name]
        for name, entry in self.points.items():
            if entry.get("floats"):
                self.floats.append(name)
            if "moves_with" in entry:
                self.rides[name] = entry["moves_with"]
            self.outside[name] = vector([force(v) for v in entry.get("force", [])])
        up = 2 if any(self.is_high(e) for e in self.points.values()) else 1
        for name, entry in self.points.items():
            self.outside[name][up] -= force(entry.get("weight", 0))

    def hang(self, name, entry):
        """The block on a strop: a point of its own that floats."""
        pin = name + " pin"
        self.pendants[name] = (entry["at"], pin, metres(entry["hangs"]))
        self.floats.append(pin)
        self.outside[pin] = [0.0, 0.0, 0.0]
        self.at[pin] = None  # guessed when the lines are known

    def node(self, word):
        """The point where a word of a path is."""
        if word in self.winches:
            return self.winches[word]["at"]
        if word in self.pendants:
            return self.pendants[word][1]
        return self.blocks[word]["at"] if word in self.blocks else word

    def roughly(self, node):
        """Where a node is; a block on a strop, where that hangs from."""
        anchors = {pin: point for point, pin, _ in self.pendants.values()}
        return self.at[anchors.get(node, node)]

    def cut(self, line, entry, used):
        words = list(entry["path"])
        sheaves = []
        for i, word in enumerate(words):
            inside = 0 < i < len(words) - 1 and word in self.blocks
            used[word] = used.get(word, 0) + inside
            sheaves.append(used[word] if inside else 0)
        if words[-1] in self.winches:
            words.reverse()
            sheaves.reverse()
        ends = [0] + [i for i in range(1, len(words) - 1) if words[i] in self.points] + \
            [len(words) - 1]
        count = 0
        for one, two in zip(ends, ends[1:]):
            part = words[one:two + 1]
            if "tail" in (part[0], part[-1]):
                continue
            piece = {"line": line, "words": part, "nodes": [self.node(w) for w in part],
                     "blocks": part[1:-1], "winch": part[0] if part[0] in self.winches else None,
                     "length": metres(entry["length"]) if "length" in entry else None,
                     "pendant": False, "index": len(self.pieces)}
            for k in range(len(part) - 1):
                count += 1
                self.legs.append({"line": line, "leg": count, "from": part[k], "to": part[k + 1],
                                  "piece": piece["index"], "k": k})
            for k, block in enumerate(piece["blocks"]):
                self.passes.append({"block": block, "sheave": sheaves[one + 1 + k], "line": line,
                                    "piece": piece["index"], "k": k})
            self.pieces.append(piece)
