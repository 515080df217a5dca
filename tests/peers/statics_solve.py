# SPDX-License-Identifier: GPL-3.0-or-later
"""Statics of a rig by brute force: forces added up leg by leg, equations solved by Newton's method with
a Jacobian from differences, speeds from the lengths of legs before and after a small travel.

No formula of reeve's is used: there is no Jacobian of directions, no rule of rope speeds, no
coefficients.  Slow, and only for comparing.
"""
import math

from statics_rig import GRAVITY, MASS, force, number, span


def add(a, b, factor=1.0):
    return [x + factor * y for x, y in zip(a, b)]


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def size(a):
    return math.sqrt(dot(a, a))


def unit(a):
    length = size(a)
    return [x / length for x in a]


def linear(rows, right):
    """Gauss with pivoting."""
    n = len(right)
    m = [row[:] + [right[i]] for i, row in enumerate(rows)]
    for c in range(n):
        p = max(range(c, n), key=lambda r: abs(m[r][c]))
        if abs(m[p][c]) < 1e-14:
            raise ArithmeticError("singular")
        m[c], m[p] = m[p], m[c]
        for r in range(n):
            if r != c and m[r][c]:
                factor = m[r][c] / m[c][c]
                m[r] = [x - factor * y for x, y in zip(m[r], m[c])]
    return [m[i][n] / m[i][i] for i in range(n)]


class Statics:
    def __init__(self, rig, asked=None):
        self.rig = rig
        self.efficiency = {b: span(e["efficiency"], lambda v: force(v))[1] if "efficiency" in e else 1.0
                           for b, e in rig.blocks.items()}
        self.turn = {}       # by pass: 1 hauls towards the winch, -1 away, 0 still
        self.lossless = False
        self.givens = asked or self.declared()
        self.dims = 2 if rig.flat else 3
        for block, (point, pin, length) in rig.pendants.items():
            rig.at[pin] = add(rig.at[point], self.guess(block), length)
        self.length = [self.declared_length(p) for p in rig.pieces]
        self.big = max(abs(value) for _, _, value in self.givens) if self.givens else \
            max(size(f) for f in rig.outside.values())
        spots = [a for a in rig.at.values()]
        self.wide = max(size(add(a, b, -1)) for a in spots for b in spots)
        self.start = None
        self.full = [self.run_length(p, rig.at) for p in rig.pieces]

    def guess(self, block):
        """Halfway between the two lines of its first pass."""
        for piece in self.rig.pieces:
            if block in piece["blocks"]:
                k = piece["blocks"].index(block) + 1
                here = self.rig.at[self.rig.blocks[block]["at"]]
                one, two = (self.rig.roughly(piece["nodes"][j]) for j in (k - 1, k + 1))
                return unit(add(unit(add(one, here, -1)), unit(add(two, here, -1))))
        return [1.0, 0.0, 0.0]

    def declared(self):
        """Kind, name, newtons."""
        rig = self.rig
        found = [("winch", w, force(e["line_pull"])) for w, e in rig.winches.items()
                 if "line_pull" in e]
        return found + [("load", load, self.resists(entry["resists"]))
                        for load, entry in rig.loads.items() if "resists" in entry]

    def resists(self, told):
        """A force, or a body on a slope: its weight down the slope, its friction against the way."""
        if not isinstance(told, dict):
            return span(told, force)[1]
        weight = number(told["mass"], MASS) * GRAVITY
        slope = math.radians(told.get("slope_deg", 0))
        against = -1.0 if self.rig.out else 1.0
        rolling, mire = (span(told.get(k, 0), lambda v: number(v, {}))[1] for k in ("rolling", "mire"))
        return weight * (math.sin(slope) + against * (rolling * math.cos(slope) + mire))

    def declared_length(self, piece):
        if piece["length"] is not None:
            return piece["length"] if piece["winch"] is None else None
        if piece["winch"]:
            return None
        return self.run_length(piece, self.rig.at)

    @staticmethod
    def run_length(piece, at):
        return sum(size(add(at[a], at[b], -1)) for a, b in zip(piece["nodes"], piece["nodes"][1:]))

    # ---- one sheave ----

    def low_side(self, block, high, wrap):
        """What is left of the high side's tension beyond a block."""
        entry = self.rig.blocks[block]
        if self.lossless:
            return high
        if "bar_friction" in entry:
            return high / math.exp(entry["bar_friction"] * wrap)
        share = entry.get("bearing_share", 0.0)
        lost = (1.0 - self.efficiency[block]) * ((1.0 - share) + share * math.sin(wrap / 2.0))
        left = high * (1.0 - lost)
        # drag and pin: left - low = c0 + c1 sin(wrap / 2) (left + low)
        k = entry.get("pin_drag", 0.0) * math.sin(wrap / 2.0)
        return (left * (1.0 - k) - force(entry.get("drag", 0))) / (1.0 + k)

    def across(self, block, near, wrap, turn):
        if turn == 0:
            return near
        if turn > 0:
            return self.low_side(block, near, wrap)
        one, two = self.low_side(block, 0.0, wrap), self.low_side(block, 1.0, wrap)
        return (near - one) / (two - one)

    def wrap_of(self, block, back, on):
        """Of the line over the block; back and on: directions from it along its legs."""
        entry = self.rig.blocks[block]
        angle = math.pi - 2.0 * math.atan2(size(add(back, on, -1.0)), size(add(back, on)))
        if "bar_friction" in entry and "wrap" in entry:
            return math.radians(entry["wrap"])
        return angle + 2.0 * math.pi * entry.get("turns", 0) if "bar_friction" in entry else angle

    # ---- forces of a whole rig ----

    def pull(self, at, starts):
        """Tension and direction of every leg, sheave by sheave; forces on every point."""
        rig = self.rig
        on = {p: list(f) for p, f in rig.outside.items()}
        legs, sheaves = {}, {}
        for r, piece in enumerate(rig.pieces):
            nodes, tension = piece["nodes"], starts[r]
            ways = [unit(add(at[b], at[a], -1)) for a, b in zip(nodes, nodes[1:])]
            for k, way in enumerate(ways):
                if k:
                    block = piece["blocks"][k - 1]
                    wrap = self.wrap_of(block, [-x for x in ways[k - 1]], way)
                    turn = self.turn.get((r, k - 1), 0)
                    near = tension
                    tension = self.across(block, tension, wrap, turn)
                    pin = add([tension * x for x in way], ways[k - 1], -near)
                    sheaves[(r, k - 1)] = {"wrap": wrap, "pin": pin, "near": near, "far": tension}
                legs[(r, k)] = {"tension": tension, "way": way,
                                "length": size(add(at[nodes[k + 1]], at[nodes[k]], -1))}
                on[nodes[k]] = add(on[nodes[k]], way, tension)
                on[nodes[k + 1]] = add(on[nodes[k + 1]], way, -tension)
        return legs, sheaves, on

    def resultant(self, load, on):
        total = [0.0, 0.0, 0.0]
        for point, rides in self.rig.rides.items():
            if rides == load:
                total = add(total, on[point])
        return total

    def way(self, load, on):
        entry = self.rig.loads[load]
        if entry.get("free"):
            return unit(self.resultant(load, on))
        return unit(list(entry["travels"]) + [0.0] * (3 - len(entry["travels"])))

    def held(self, name, legs, sheaves, on):
        """Force of what a cell or a fitting holds."""
        rig = self.rig
        if name in rig.fittings:
            holds = rig.fittings[name]["holds"]
            total = [0.0, 0.0, 0.0]
            for each in holds if isinstance(holds, list) else [holds]:
                total = add(total, self.held(each, legs, sheaves, on))
            return total
        if name in rig.blocks:
            sheave, becket = self.block_forces(name, legs, sheaves)
            return sheave if self.is_on_becket(name) else add(sheave, becket)
        if name in rig.points:
            return on[name]
        line = name[:-len(" end")]
        last = [l for l in rig.legs if l["line"] == line][-1]
        leg = legs[(last["piece"], last["k"])]
        return [-leg["tension"] * x for x in leg["way"]]

    def is_on_becket(self, block):
        """Nothing but the line on its becket holds it, so that is what it is held with."""
        rig, point = self.rig, self.rig.node(block)
        if point not in rig.floats or \
                sum(rig.node(b) == point for b in rig.blocks) + (block in rig.pendants) > 1:
            return False
        ends = {p["words"][i] for p in rig.pieces for i in (0, -1) if p["nodes"][i] == point}
        return ends == {block}

    def block_forces(self, block, legs, sheaves):
        sheave, becket = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
        for (r, k), passed in sheaves.items():
            if self.rig.pieces[r]["blocks"][k] == block:
                sheave = add(sheave, passed["pin"])
        for r, piece in enumerate(self.rig.pieces):
            if piece["pendant"]:
                continue
            last = len(piece["nodes"]) - 2
            if piece["words"][0] == block:
                becket = add(becket, legs[(r, 0)]["way"], legs[(r, 0)]["tension"])
            if piece["words"][-1] == block:
                becket = add(becket, legs[(r, last)]["way"], -legs[(r, last)]["tension"])
        return sheave, becket

    def cell(self, name, legs, sheaves, on):
        entry = self.rig.cells[name]
        if "in" in entry:
            leg = next(l for l in self.rig.legs
                       if l["line"] == entry["in"] and l["leg"] == entry["leg"])
            return legs[(leg["piece"], leg["k"])]["tension"]
        return size(self.held(entry["holds"], legs, sheaves, on))

    # ---- the equations ----

    def unpack(self, y, shift, take):
        rig, d = self.rig, self.dims
        at = {p: list(a) for p, a in rig.at.items()}
        for i, p in enumerate(rig.floats):
            at[p] = [y[i * d + j] * self.wide for j in range(d)] + [0.0] * (3 - d)
        for p, load in rig.rides.items():
            at[p] = add(at[p], shift.get(load, [0.0, 0.0, 0.0]))
        n = d * len(rig.floats)
        starts = [v * self.big for v in y[n:n + len(rig.pieces)]]
        return at, starts, take

    def gap(self, y, shift, take):
        rig = self.rig
        at, starts, take = self.unpack(y, shift, take)
        legs, sheaves, on = self.pull(at, starts)
        gaps = []
        for p in rig.floats:
            gaps += [x / self.big for x in on[p][:self.dims]]
        for r, piece in enumerate(rig.pieces):
            if piece["winch"] is None:
                gaps.append((self.run_length(piece, at) - self.length[r]) / self.wide)
            elif take is not None:
                gaps.append((self.run_length(piece, at) - self.full[r] + take[piece["winch"]]) / self.wide)
        if take is None:
            for kind, name, value in self.givens:
                if kind == "winch":
                    r = next(i for i, p in enumerate(rig.pieces) if p["winch"] == name)
                    got = starts[r]
                elif kind == "load":
                    got = dot(self.way(name, on), self.resultant(name, on))
                else:
                    got = self.cell(name, legs, sheaves, on)
                gaps.append((got - value) / self.big)
        return gaps

    def solve(self, shift=None, take=None):
        shift = shift or {}
        rig = self.rig
        if not rig.loads and take is None:
            take = dict.fromkeys(rig.winches, 0.0)  # the drums hold what hangs from the lines
        y = self.start
        if y is None:
            y = [rig.at[p][j] / self.wide for p in rig.floats for j in range(self.dims)]
            y += [0.7] * len(rig.pieces)
        gaps = self.gap(y, shift, take)
        if len(gaps) != len(y):
            raise ArithmeticError(f"{len(gaps)} equations, {len(y)} unknowns")
        for _ in range(400):
            worst = max(map(abs, gaps))
            if worst < 3e-14:
                break
            step = linear(list(map(list, zip(*self.columns(y, shift, take)))), [-g for g in gaps])
            part = min(1.0, 0.15 / max(max(map(abs, step)), 1e-300))
            while True:
                trial = [a + part * b for a, b in zip(y, step)]
                got = self.gap(trial, shift, take)
                if size(got) < size(gaps) or part < 1e-4:
                    break
                part *= 0.5
            if size(got) >= size(gaps) and worst < 1e-11:
                break
            y, gaps = trial, got
        if max(map(abs, gaps)) > 1e-10:
            raise ArithmeticError(f"no equilibrium ({max(map(abs, gaps)):.2g})")
        self.start = y
        at, starts, _ = self.unpack(y, shift, take)
        legs, sheaves, on = self.pull(at, starts)
        return at, legs, sheaves, on

    def columns(self, y, shift, take):
        """By central differences."""
        h = 1e-6
        for i, _ in enumerate(y):
            up, down = y[:], y[:]
            up[i] += h
            down[i] -= h
            yield [(a - b) / (2 * h) for a, b in
                   zip(self.gap(up, shift, take), self.gap(down, shift, take))]

    # ---- motion ----

    def lengths(self, moved):
        """Leg lengths after the small travel (or intake, where there is no load)."""
        rig = self.rig
        if rig.loads:
            shift = {b: [(self.gone + moved) * x for x in self.going[b]] for b in rig.loads}
            _, legs, _, _ = self.solve(shift)
        else:
            _, legs, _, _ = self.solve(None, {w: moved * rig.drive.get(w, 0.0)
                                              for w in rig.winches})
        return {k: v["length"] for k, v in legs.items()}

    def speeds(self, gone=None):
        """Rates of all leg lengths for a load's speed of one: fourth order differences."""
        if gone is None:
            at, legs, _, on = self.solve()
            self.going = {b: self.way(b, on) for b in self.rig.loads}
            self.full = [self.run_length(p, at) for p in self.rig.pieces]
        else:
            _, legs, _, _ = self.solve({b: [gone * x for x in self.going[b]] for b in self.rig.loads})
        self.gone = gone or 0.0
        here = self.start
        h = 1e-3 * min(1.0, min(l["length"] for l in legs.values()))
        got = []
        for m in (-2, -1, 1, 2):
            self.start = here
            got.append(self.lengths(m * h))
        self.start = here
        return {k: (got[0][k] - 8 * got[1][k] + 8 * got[2][k] - got[3][k]) / (12 * h)
                for k in got[0]}

    def rope_speeds(self, gone=None):
        """Of every pass: line that goes towards the winch is line that vanishes beyond it."""
        rates = self.speeds(gone)
        speed, intake = {}, {}
        for r, piece in enumerate(self.rig.pieces):
            n = len(piece["nodes"]) - 1
            for k in range(n - 1):
                speed[(r, k)] = -sum(rates[(r, j)] for j in range(k + 1, n))
            if piece["winch"]:
                intake[piece["winch"]] = -sum(rates[(r, j)] for j in range(n))
        return speed, intake

    def settle(self, gone=None):
        """Turns found until they stay; the whole of it at the end."""
        if gone is None:
            self.turn = {}
        for _ in range(8):
            speed, intake = self.rope_speeds(gone)
            fastest = max([abs(v) for v in list(speed.values()) + list(intake.values())] + [0.0])
            sense = -1 if self.rig.out else 1
            turn = {k: 0 if abs(v) < 1e-7 * fastest else int(math.copysign(1, v)) * sense
                    for k, v in speed.items()}
            if turn == self.turn:
                break
            self.turn = turn
        else:
            raise ArithmeticError("turns do not settle")
        if gone is None:
            self.speed, self.intake = speed, intake
            return self.solve()
        return self.solve({b: [gone * x for x in self.going[b]] for b in self.rig.loads})
