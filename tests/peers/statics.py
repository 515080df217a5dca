#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plans by reeve against plans by brute force (statics_solve.py), figure by figure: a peer written from
the laws of statics, not from reeve.

usage: statics.py REEVE RIG.yaml|FOLDER|random:FIRST:COUNT...

A rig whose first line is `# plan: ARGS` is planned with these.  Compared: legs (their count, names and
order too), sheaves, components, cells, winches, loads, ratios, the ranges over the declared
efficiencies (every corner tried), the limit, line needed, the travel.  Then what must hold of the plan
by itself: power balance, virtual work, the weakest, the lists of what is not rated.
"""
import itertools
import json
import math
import pathlib
import shlex
import subprocess
import sys
import tempfile

import statics_random
from statics_rig import Rig, force, limit, metres, span
from statics_solve import Statics, add, dot, size

SLOW = 0.02


class Faults(list):
    figures = 0

    def near(self, label, got, want, relative=1e-6, floor=1e-3):
        self.figures += 1
        if got is None or want is None or isinstance(got, str):
            if got != want:
                self.append(f"{label}: {got} instead of {want}")
        elif not abs(got - want) <= max(relative * abs(want), floor):
            self.append(f"{label}: {got:.9g} instead of {want:.9g}")

    def same(self, label, got, want):
        self.figures += 1
        if got != want:
            self.append(f"{label}: {got} instead of {want}")


def asked_of(args, rig):
    """Forces on the command line, as Statics takes them."""
    kinds = {"--line-pull": ("winch", rig.winches), "--resist": ("load", rig.loads),
             "--cell": ("cell", rig.cells)}
    found = []
    for option, value in zip(args, args[1:]):
        if option in kinds:
            kind, names = kinds[option]
            name, _, newtons = value.rpartition("=")
            found.append((kind, name or next(iter(names)), force(newtons)))
    return found


def givens_of(args, rig, statics):
    """What is asked for, and as much of what the file gives as is still needed."""
    asked = asked_of(args, rig)
    if len(asked) >= len(rig.winches) or not asked:
        return asked or statics.givens
    names = {(kind, name) for kind, name, _ in asked}
    rest = [g for g in statics.givens if (g[0], g[1]) not in names]
    return (asked + rest)[:len(rig.winches)]


def is_of_one_block(rig, point):
    """A floating point that a single block is at, and nothing else, is no joint."""
    here = [b for b, e in rig.blocks.items() if e["at"] == point and b not in rig.pendants]
    words = {p["words"][i] for p in rig.pieces for i in (0, -1) if p["nodes"][i] == point}
    return len(here) == 1 and words <= {here[0]} and size(rig.outside[point]) == 0


def loads_of(statics, solved):
    """Every component in the order of the plan: name, kind, newtons, limit."""
    rig = statics.rig
    _, legs, sheaves, on = solved
    found = []

    def ends(point):
        """What is made fast to it, beckets apart."""
        for r, piece in enumerate(rig.pieces):
            last = len(piece["nodes"]) - 2
            for k, end, sign in ((0, 0, 1), (last, -1, -1)):
                if piece["nodes"][end] == point and piece["words"][end] not in rig.blocks:
                    leg = legs[(r, k)]
                    yield piece, [sign * leg["tension"] * x for x in leg["way"]]

    def joint(point):
        """Largest of what is attached: a line's end, the clamp on a line, a block."""
        lines = {}
        for piece, f in ends(point):
            lines[piece["line"]] = add(lines.get(piece["line"], [0.0] * 3), f)
        most = max(map(size, lines.values()), default=0.0)
        for block, entry in rig.blocks.items():
            if entry["at"] == point and block not in rig.pendants:
                sheave, becket = statics.block_forces(block, legs, sheaves)
                most = max(most, size(sheave), size(add(sheave, becket)))
        return max(most, size(rig.outside[point]))

    for p, entry in rig.points.items():
        kind = "joint" if entry.get("floats") else "point"
        if kind == "joint" and is_of_one_block(rig, p):
            continue
        found.append((p, kind, joint(p) if kind == "joint" else size(on[p]), limit(entry)))
    for w, entry in rig.winches.items():
        r = next((i for i, p in enumerate(rig.pieces) if p["winch"] == w), None)
        found.append((w, "winch", legs[(r, 0)]["tension"], limit(entry)))
    for line, entry in rig.lines.items():
        found.append((line, "line", max(l["tension"] for (r, _), l in legs.items()
                                        if rig.pieces[r]["line"] == line), limit(entry)))
    for b, entry in rig.blocks.items():
        sheave, becket = statics.block_forces(b, legs, sheaves)
        found.append((b, "block", max(size(sheave), size(add(sheave, becket))), limit(entry)))
    for b, entry in rig.blocks.items():
        becket = statics.block_forces(b, legs, sheaves)[1]
        if any(b in (p["words"][0], p["words"][-1]) for p in rig.pieces if not p["pendant"]):
            found.append((b + " becket", "becket", size(becket),
                          force(entry["becket_wll"], True) if "becket_wll" in entry else None))
    for line, entry in rig.lines.items():
        for word in entry["path"][1:-1]:
            if word in rig.points:
                runs = [size(f) for piece, f in ends(word) if piece["line"] == line]
                # what would make it slip: the difference of the tensions it joins
                found.append((f"{line} at {word}", "grab", abs(runs[0] - sum(runs[1:])), None))
    for f, entry in rig.fittings.items():
        load = size(statics.held(f, legs, sheaves, on))
        if entry.get("legs", 1) == 2:
            load /= 2.0 * math.cos(math.radians(entry.get("included_angle", 0)) / 2.0)
        found.append((f, entry["kind"], load, limit(entry)))
    return found


def outputs(statics, solved):
    """All numbers with a range, in one row."""
    rig = statics.rig
    _, legs, sheaves, on = solved
    row = [x[2] for x in loads_of(statics, solved)]
    row += [legs[(l["piece"], l["k"])]["tension"] for l in rig.legs]
    row += [legs[(r, 0)]["tension"] for w in rig.winches
            for r, p in enumerate(rig.pieces) if p["winch"] == w]
    if len(rig.winches) == 1 and len(rig.loads) == 1:
        b = next(iter(rig.loads))
        row.append(dot(statics.way(b, on), statics.resultant(b, on)) / row[-1])
    return row


def corners(statics):
    """Low and high of every output: each end of each range, each way a slow sheave may hold."""
    rig = statics.rig
    ranged = [b for b, e in rig.blocks.items() if isinstance(e.get("efficiency"), list)]
    fastest = max([abs(v) for v in statics.intake.values()] + [0.0])
    slow = [k for k, v in statics.speed.items() if abs(v) < SLOW * fastest]
    if len(ranged) + len(slow) > 6:
        return None, None
    middle, turn, start = dict(statics.efficiency), dict(statics.turn), statics.start
    rows = [outputs(statics, statics.solve())]
    for ends in itertools.product((0, 2), repeat=len(ranged)):
        for b, end in zip(ranged, ends):
            statics.efficiency[b] = span(rig.blocks[b]["efficiency"], lambda v: force(v))[end]
        for ways in itertools.product((-1, 0, 1), repeat=len(slow)):
            statics.turn.update(zip(slow, ways))
            statics.start = start
            rows.append(outputs(statics, statics.solve()))
    statics.efficiency, statics.turn, statics.start = middle, turn, start
    return [min(c) for c in zip(*rows)], [max(c) for c in zip(*rows)]


def compare_parts(told, statics, solved, faults):
    rig = statics.rig
    _, legs, sheaves, on = solved
    faults.same("legs", [(l["line"], l["leg"], l["from"], l["to"]) for l in told["legs"]],
                [(l["line"], l["leg"], l["from"], l["to"]) for l in rig.legs])
    for got, leg in zip(told["legs"], rig.legs):
        want = legs[(leg["piece"], leg["k"])]
        label = f"{leg['line']} leg {leg['leg']}"
        faults.near(label, got["tension_n"], want["tension"])
        faults.near(label + " length", got["length_m"], want["length"], floor=1e-7)
    faults.same("sheaves", [(s["block"], s["sheave"], s["line"]) for s in told["sheaves"]],
                [(s["block"], s["sheave"], s["line"]) for s in rig.passes])
    for got, each in zip(told["sheaves"], rig.passes):
        key = (each["piece"], each["k"])
        want, label = sheaves[key], f"{each['block']} sheave {each['sheave']}"
        high = max(want["near"], want["far"])
        faults.near(label + " wrap", got["wrap_deg"], math.degrees(want["wrap"]), floor=1e-5)
        faults.near(label + " pin", got["pin_n"], size(want["pin"]))
        faults.near(label + " loss", got["loss_ratio"], abs(want["near"] - want["far"]) / high,
                    floor=1e-8)
        faults.near(label + " speed", got["rope_speed_ratio"],
                    statics.speed[key] * (-1 if rig.out else 1), 1e-7, 1e-8)
    for got, name in zip(told["cells"], rig.cells):
        faults.near(name, got["load_n"], statics.cell(name, legs, sheaves, on))
    for got, (name, _) in zip(told["winches"], rig.winches.items()):
        faults.near(name + " velocity ratio", got["velocity_ratio"], statics.intake[name], 1e-7, 1e-8)
    for got, name in zip(told["loads"], rig.loads):
        pulled, way = statics.resultant(name, on), statics.way(name, on)
        faults.near(name, got["resists_n"], dot(way, pulled))
        faults.near(name + " aside", got["side_n"], size(add(pulled, way, -dot(way, pulled))))
    for line in rig.lines:
        need = sum(l["length"] for (r, _), l in legs.items() if rig.pieces[r]["line"] == line)
        for (r, k), s in sheaves.items():
            if rig.pieces[r]["line"] == line:
                block = rig.blocks[rig.pieces[r]["blocks"][k]]
                need += s["wrap"] * 0.5 * metres(block.get("diameter", 0))
        for w, entry in rig.winches.items():
            if any(p["winch"] == w and p["line"] == line for p in rig.pieces):
                need += entry.get("wraps_left", 0) * math.pi * \
                    metres(entry.get("drum", {}).get("diameter", 0))
        faults.near(line + " needed", told["line_needed_m"][line], need, floor=1e-6)


def compare_components(told, statics, solved, faults):
    want = loads_of(statics, solved)
    low, high = corners(statics)
    order = [(c["name"], c["kind"]) for c in told["components"] if c["kind"] != "pendant"]
    idle = {(name, kind) for name, kind, load, _ in want if load < 1e-9 * statics.big}
    faults.same("components", [o for o in order if o not in idle],
                [(n, k) for n, k, _, _ in want if (n, k) not in idle])
    by_name = {(c["name"], c["kind"]): c for c in told["components"]}
    uses = {}
    for i, (name, kind, load, carries) in enumerate(want):
        got = by_name.get((name, kind))
        if got is None:
            continue
        faults.near(f"{kind} {name}", got["load_n"], load)
        faults.near(f"limit of {name}", got["limit_n"], carries)
        if carries:
            uses[(name, kind)] = load / carries
            faults.near(f"use of {name}", got["use_ratio"], load / carries, floor=1e-8)
        if low:
            faults.near(f"low of {kind} {name}", got["low_n"], low[i])
            faults.near(f"high of {kind} {name}", got["high_n"], high[i])
            if carries:
                faults.near(f"worst of {name}", got["use_worst_ratio"], high[i] / carries, floor=1e-8)
    if low:
        for j, leg in enumerate(told["legs"]):
            label, at = f"{leg['line']} leg {leg['leg']}", len(want) + j
            faults.near("low of " + label, leg["low_n"], low[at])
            faults.near("high of " + label, leg["high_n"], high[at])
        if told["advantage"]:
            faults.near("advantage, low", told["advantage"]["low_ratio"], low[-1], floor=1e-7)
            faults.near("advantage, high", told["advantage"]["high_ratio"], high[-1], floor=1e-7)
    rated = [c for c in told["components"] if c["limit_n"] is not None]
    faults.same("not rated", told["not_rated"],
                [c["name"] for c in told["components"] if c["limit_n"] is None])
    for key, what in (("weakest", "use_ratio"), ("weakest_worst", "use_worst_ratio")):
        most = max((c[what] for c in rated), default=None)
        first = next((c["name"] for c in rated if c[what] >= most * (1 - 1e-11)), None)
        faults.same(key, (told[key] or {}).get("name"), first)


def compare_single(told, statics, faults):
    """Advantage, the limit and the travel of a rig with one winch and one load."""
    rig = statics.rig
    single = len(rig.winches) == 1 and len(rig.loads) == 1
    for key in ("advantage", "velocity_ratio", "line_pull_limit_n"):
        if not single:
            faults.same(key, told[key], None)
    if not single:
        return
    winch, load = next(iter(rig.winches)), next(iter(rig.loads))
    faults.near("velocity ratio", told["velocity_ratio"], statics.intake[winch], 1e-7)
    statics.lossless = True
    _, legs, _, on = statics.solve()
    statics.lossless = False
    r = next(i for i, p in enumerate(rig.pieces) if p["winch"] == winch)
    faults.near("theoretical", told["advantage"]["theoretical_ratio"],
                dot(statics.way(load, on), statics.resultant(load, on)) / legs[(r, 0)]["tension"])
    if told["weakest"]:
        kept = statics.givens, statics.start
        statics.givens = [("winch", winch, told["line_pull_limit_n"])]
        solved = statics.solve()
        use = max(c[2] / c[3] for c in loads_of(statics, solved) if c[3])
        faults.near("use at the limit", use, 1.0, 1e-6)
        statics.givens, statics.start = kept


def compare_travel(told, statics, faults):
    rig = statics.rig
    winch, load = next(iter(rig.winches)), next(iter(rig.loads), None)
    here, turn = statics.start, dict(statics.turn)
    r = next(i for i, p in enumerate(rig.pieces) if p["winch"] == winch)
    sense, at = -1.0 if rig.out else 1.0, 0.0
    for row in told["travel"] or []:
        steps = 1 + int((row["travel_m"] - at) / 0.5) if not rig.loads[load].get("free") else 1
        for i in range(1, steps + 1):
            moved = at + (row["travel_m"] - at) * i / steps
            at_all, legs, _, _ = statics.settle(sense * moved)
        at = row["travel_m"]
        taken = (statics.full[r] - statics.run_length(rig.pieces[r], at_all)) * sense
        label = f"after {at:.3f} m"
        faults.near(label + ", line", abs(row["line_in_m"]), abs(taken), floor=1e-6)
        faults.near(label + ", pull", row["line_pull_n"], legs[(r, 0)]["tension"], 1e-5)
    statics.start, statics.turn = here, turn


def compare_power(told, faults):
    """From the plan's own numbers: in - out - losses = 0, every loss above zero."""
    if not told["loads"] or len(told["loads"]) > 1 or told["legs"] == []:
        return
    sense = -1 if told["haul"] == "out" else 1
    put_in = sum(w["line_pull_n"] * w["velocity_ratio"] for w in told["winches"])
    names = {s["block"] for s in told["sheaves"]}
    over = [(a, b) for a, b in zip(told["legs"], told["legs"][1:])
            if a["line"] == b["line"] and a["to"] == b["from"] and a["to"] in names]
    lost = 0.0
    for (a, b), sheave in zip(over, told["sheaves"]):
        each = (a["tension_n"] - b["tension_n"]) * sheave["rope_speed_ratio"]
        if each < -1e-9 * put_in:
            faults.append(f"{sheave['block']} gives power")
        lost += sense * each
    return put_in, sum(l["resists_n"] for l in told["loads"]), lost


def check(reeve, path):
    text = path.read_text(encoding="utf-8")
    first = text.split("\n", 1)[0]
    args = shlex.split(first.removeprefix("# plan:")) if first.startswith("# plan:") else []
    done = subprocess.run([reeve, "plan", str(path), "--json", *args], capture_output=True,
                          timeout=60, encoding="utf-8", check=False)
    faults = Faults()
    told = json.loads(done.stdout) if done.stdout else {"refused": done.stderr}
    if "refused" in told:
        faults.append(f"refused: {told['refused']}")
        return faults
    rig = Rig(text)
    statics = Statics(rig)
    statics.givens = givens_of(args, rig, statics)
    if statics.givens:
        statics.big = max(value for _, _, value in statics.givens)
    solved = statics.settle()
    if min(leg["tension"] for leg in solved[1].values()) <= 0:
        raise ArithmeticError("a line would push: no case for comparing")
    compare_parts(told, statics, solved, faults)
    compare_components(told, statics, solved, faults)
    compare_single(told, statics, faults)
    if told["travel"]:
        compare_travel(told, statics, faults)
    power = compare_power(told, faults)
    weighed = any(size(f) > 0 for f in rig.outside.values())
    if power and not weighed:
        put_in, out, lost = power
        faults.near("power", put_in - out - lost, 0.0, 0.0, 1e-10 * abs(put_in))
    return faults


def rigs_of(words, scratch):
    """The files that the words of the command line name."""
    for word in words:
        if word.startswith("random:"):
            first, count = map(int, word.split(":")[1:])
            for number in range(first, first + count):
                path = pathlib.Path(scratch) / f"random-{number}.yaml"
                path.write_text(statics_random.write(number), encoding="utf-8")
                yield path
        elif pathlib.Path(word).is_dir():
            yield from sorted(pathlib.Path(word).glob("*.yaml"))
        else:
            yield pathlib.Path(word)


def run(reeve, paths):
    """Rigs, failures and figures."""
    failed = figures = count = 0
    for path in paths:
        try:
            faults = check(reeve, path)
        except (ArithmeticError, KeyError, StopIteration) as error:
            faults = Faults([f"peer: {error!r}"])
        count += 1
        failed += bool(faults)
        figures += faults.figures
        print(f"{path.stem}: {'FAILED' if faults else 'ok'} ({faults.figures} figures)")
        for fault in faults:
            print(f"  {fault}")
        if faults and path.stem.startswith("random"):
            print(path.read_text(encoding="utf-8"))
    return count, failed, figures


def main():
    reeve = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as scratch:
        count, failed, figures = run(reeve, rigs_of(sys.argv[2:], scratch))
    print(f"{count - failed} rigs passed, {failed} failed, {figures} figures")
    sys.exit(1 if failed or not count else 0)


main()
