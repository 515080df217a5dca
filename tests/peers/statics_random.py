# SPDX-License-Identifier: GPL-3.0-or-later
"""Random rigs for the statics peer, the same for the same number: tackles with bars and hung turns,
lines on lines, burtons, slings, one winch or two; in the plane and in space."""
import random


class Draft:
    """Sections of one rig as they grow; text() writes them."""

    def __init__(self, number):
        self.dice = random.Random(number)
        self.number = number
        self.in_space = self.chance(0.5)
        self.points, self.blocks, self.lines, self.fittings = {}, {}, {}, {}
        self.winches = {"drum": "deck"}
        self.resists = self.draw(5, 60)
        self.travels = [-1, self.draw(-0.1, 0.1), self.draw(-0.1, 0.1)]
        self.is_free = False

    def draw(self, low, high):
        return self.dice.uniform(low, high)

    def chance(self, share):
        return self.dice.random() < share

    def point(self, name, x, y, spread=1.0, more=""):
        at = [x + self.draw(-1, 1), y + self.draw(-spread, spread), self.draw(-0.5, 0.5) * spread]
        at = ", ".join(f"{v:.4f}" for v in (at if self.in_space else at[:2]))
        rated = f", wll: {self.draw(20, 90):.1f} kN" if self.chance(0.4) else ""
        self.points[name] = f"{{at: [{at}]{more}{rated}}}"

    def floats(self, name, x, y, spread=1.0):
        weight = f", weight: {self.draw(20, 200):.0f} N" if self.chance(0.3) else ""
        self.point(name, x, y, spread, ", floats: true" + weight)

    def block(self, name, at, more=""):
        high = self.draw(0.86, 0.99)
        keys = [f"at: {at}", f"efficiency: {high:.4f}" if self.chance(0.5)
                else f"efficiency: [{high - 0.03:.4f}, {high:.4f}]"]
        for share, key, low, most, unit in (
                (0.3, "bearing_share", 0, 1, ""), (0.2, "drag", 0, 60, " N"),
                (0.2, "pin_drag", 0, 0.03, ""), (0.3, "diameter", 0.1, 0.3, ""),
                (0.6, "wll", 9, 90, " kN")):
            if self.chance(share):
                keys.append(f"{key}: {self.draw(low, most):.4f}{unit}")
        self.blocks[name] = "{" + ", ".join(keys) + more + "}"

    def fasten(self):
        """A chain of fittings on some block and some line's end."""
        name = self.dice.choice(list(self.blocks))
        wll = f"wll: {self.draw(10, 90):.1f} kN"
        self.fittings["pin"] = f"{{kind: shackle, holds: {name}, {wll}}}"
        self.fittings["loop"] = "{kind: strop, holds: pin, legs: 2, " \
            f"included_angle: {self.draw(10, 110):.1f}, {wll}}}"
        ends = [line for line, path in self.lines.items() if "tail" not in (path[0], path[-1])]
        if ends and self.chance(0.6):
            self.fittings["dead pin"] = f"{{kind: shackle, holds: {ends[0]} end, {wll}}}"
            self.fittings["large ring"] = f"{{kind: ring, holds: [loop, dead pin], {wll}}}"

    def text(self):
        args = []
        if len(self.winches) == 1 and self.chance(0.3):
            args += ["--cell", f"c={self.resists * self.draw(0.2, 0.6):.3f}kN"]
        if len(self.winches) == 1 and not self.is_free and self.chance(0.3):
            args += ["--travel", f"{self.draw(0.5, 5):.2f}"]
        dims = 3 if self.in_space else 2
        way = "free: true" if self.is_free else \
            "travels: [" + ", ".join(f"{v:.4f}" for v in self.travels[:dims]) + "]"
        span = f"{self.resists:.3f} kN" if self.chance(0.7) else \
            f"[{0.8 * self.resists:.3f} kN, {1.2 * self.resists:.3f} kN]"
        pull = f", line_pull: {self.resists * self.draw(0.1, 0.25):.3f} kN"
        winches = {w: f"{{at: {at}, rated: {self.draw(10, 60):.1f} kN{pull if w != 'drum' else ''}}}"
                   for w, at in self.winches.items()}
        lines = {}
        for name, path in self.lines.items():
            path = path[::-1] if self.chance(0.25) else path
            lines[name] = f"{{path: [{', '.join(path)}], wll: {self.draw(10, 60):.1f} kN}}"
        said = ["# plan: " + " ".join(args)] if args else []
        said += [f"rig: random {self.number}"] + (["haul: out"] if self.chance(0.3) else [])
        for title, section in (("points", self.points),
                               ("loads", {"car": f"{{{way}, resists: {span}}}"}),
                               ("winches", winches), ("blocks", self.blocks), ("lines", lines),
                               ("fittings", self.fittings),
                               ("cells", {"c": f"{{in: {next(iter(lines))}, leg: 1}}"})):
            if section:
                said += [title + ":"] + [f"  {k}: {v}" for k, v in section.items()]
        return "\n".join(said) + "\n"


def tackle(d):
    turns = d.dice.randint(1, 3)
    d.point("post", 0, 0, 2)
    d.block("mov", "lug", f", sheaves: {turns + 1}")
    d.block("fix", "post", f", sheaves: {turns + 1}")
    path = ["drum"]
    if d.chance(0.3):
        d.point("peg", 3, 4)
        d.blocks["bar"] = f"{{at: peg, bar_friction: {d.draw(0.05, 0.25):.3f}, " \
            f"turns: {d.dice.randint(0, 1)}}}"
        path.append("bar")
    if d.chance(0.4):
        d.point("corner", 2, 9)
        d.block("turn", "corner", f", hangs: {d.draw(0.4, 2):.3f}" if d.chance(0.6) else "")
        path.append("turn")
    path += ["mov", "fix"] * turns
    if d.chance(0.3) and turns > 1:
        path.pop()
    path.append(d.dice.choice(["lug", "mov"] if path[-1] == "fix" else ["post", "fix"]))
    d.lines["wire"] = path
    d.is_free = d.chance(0.2)
    if d.chance(0.3):
        d.winches["second"] = "deck b"
        d.point("deck b", 0, -8)
        d.point("lug b", 40, -2, 1, ", moves_with: car")
        d.block("other", "lug b")
        d.lines["more"] = ["second", "other", "post"]


def piggyback(d):
    d.point("post", 0, 0, 2)
    d.floats("clamp", 14, 0)
    for block, at in (("car block", "lug"), ("fix", "post"), ("rider", "clamp")):
        d.block(block, at)
    d.lines["main"] = ["tail", "clamp", "car block", "fix", "lug"]
    d.lines["haul"] = ["drum", "rider", "post"]


def burton(d):
    d.point("deck", 45, 0, 2)
    d.point("beam", 0, 0, 0.5)
    d.floats("bight", 13, 0, 0.5)
    for block, at in (("top", "beam"), ("run", "bight"), ("low", "lug")):
        d.block(block, at)
    d.lines["pendant"] = ["low", "top", "run"]
    d.lines["fall"] = ["drum", "run", "low", "beam"]


def whips(d):
    count = d.dice.randint(2, 3)
    for i in range(count):
        d.point(f"a{i}", 0, 0, 3)
        if i < count - 1:
            d.floats(f"g{i}", 13 + 9 * i, 0, 2)
        d.block(f"b{i}", "lug" if i == count - 1 else f"g{i}")
        start = "drum" if i == 0 else d.dice.choice([f"g{i - 1}", f"b{i - 1}"])
        d.lines[f"l{i}"] = [start, f"b{i}", f"a{i}"]


def helper(d):
    d.winches["second"] = "side"
    d.point("side", 2, 8)
    d.point("tie", 1, 10)
    d.floats("clamp", 13, 1)
    d.block("rider", "clamp")
    d.lines["main"] = ["drum", "clamp", "lug"]
    d.lines["help"] = ["second", "rider", "tie"]


def write(number):
    draft = Draft(number)
    draft.point("deck", -3, 0, 3)
    draft.point("lug", 40, 0, 1, ", moves_with: car")
    (tackle, piggyback, burton, whips, helper)[number % 5](draft)
    if draft.chance(0.5):
        draft.fasten()
    return draft.text()
