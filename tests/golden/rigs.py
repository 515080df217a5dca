#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plans every rig of the library and checks what must hold of any rig.

usage: rigs.py REEVE FOLDER HAND

Of each: it is planned; no number is missing where one must be; ranges hold their middle; what goes in
at the winches comes out at the loads and sheaves (power balance, 1e-10); something is rated and nothing
beyond its limit, at the worst of the declared efficiencies; the gear suits.  Of all together: what
they are to show between them.  Then the library is searched with the gear of HAND.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

# Cautions that a rig laid with care may still carry.
FAIR = {"KEEP_CLEAR", "BIGHT", "WEAKEST_CHANGES", "SHEAVE_STILL", "SIDE_FORCE", "FRICTION"}
BALANCE = 1e-10


def plan(reeve, path):
    done = subprocess.run([reeve, "plan", str(path), "--json"], capture_output=True, timeout=60,
                          encoding="utf-8", check=False)
    return json.loads(done.stdout) if done.stdout else {"refused": {"text": done.stderr}}


def passes(legs):
    """Tensions before and after each sheave, in the order in which the plan lists sheaves."""
    for one, two in zip(legs, legs[1:]):
        if one["line"] == two["line"] and one["to"] == two["from"]:
            yield one["to"], one["tension_n"], two["tension_n"]


def power_gap(told):
    """In - out - losses, as a share of what goes in; None where no load tells the speed."""
    if not told["loads"]:
        return None
    sense = -1 if told["haul"] == "out" else 1
    put_in = sum(w["line_pull_n"] * w["velocity_ratio"] for w in told["winches"])
    out = sum(load["resists_n"] for load in told["loads"])
    names = {s["block"] for s in told["sheaves"]}
    between = [p for p in passes(told["legs"]) if p[0] in names]
    if len(between) != len(told["sheaves"]):
        return 1.0
    lost = 0.0
    for (block, near_n, far_n), sheave in zip(between, told["sheaves"]):
        if block != sheave["block"]:
            return 1.0
        lost += (near_n - far_n) * sense * sheave["rope_speed_ratio"]
    return (put_in - out - lost) / put_in


def faults(told):
    """What is wrong with one plan."""
    if "refused" in told:
        yield f"refused: {told['refused']['text']}"
        return
    for part in told["legs"]:
        if not part["low_n"] <= part["tension_n"] <= part["high_n"] or part["low_n"] <= 0:
            yield f"{part['line']}, leg {part['leg']}: {part['low_n']} {part['tension_n']} " \
                  f"{part['high_n']}"
    for part in told["components"]:
        if not 0 <= part["low_n"] <= part["load_n"] <= part["high_n"]:
            yield f"{part['name']}: {part['low_n']} {part['load_n']} {part['high_n']}"
        if part["limit_n"] is not None and part["use_worst_ratio"] > 1:
            yield f"{part['name']} is over its limit: {part['use_worst_ratio']:.3f}"
    if told["weakest"] is None:
        yield "nothing is rated"
    elif not 0.3 < told["weakest"]["use_ratio"] <= 1:
        yield f"weakest {told['weakest']}: nothing to learn from"
    for sheave in told["sheaves"]:
        if not 0 <= sheave["loss_ratio"] < 1:
            yield f"{sheave['block']}: loss {sheave['loss_ratio']}"
    gap = power_gap(told)
    if gap is not None and abs(gap) > BALANCE:
        yield f"power does not balance: {gap:.3g}"
    clear = told["keep_clear"]
    if told["keep_clear_m"] < max(v for k, v in clear.items() if k.endswith("_m")):
        yield f"keep clear {told['keep_clear_m']} of {clear}"
    for note in told["notes"]:
        if note["code"] not in FAIR:
            yield f"caution {note['code']}: {note['text']}"
    if not any(n["code"] == "KEEP_CLEAR" for n in told["notes"]):
        yield "no clearance"


# What the library is to show: a name, and whether a plan or its file shows it.
def parts(count):
    return lambda told, _: (told["velocity_ratio"] is not None and
                            round(told["velocity_ratio"]) == count)


def moves(text):
    """Names of the points that move with a load."""
    return set(re.findall(r"^ +([^:#]+):.*moves_with", text, re.M))


def dead_end(told, text, on_load):
    last = [leg for leg in told["legs"] if leg["line"] == told["legs"][0]["line"]][-1]["to"]
    at = re.search(rf"^ +{re.escape(last)}: *{{at: ([^,}}]+)[,}}]", text, re.M)
    return bool({last, at.group(1) if at else ""} & moves(text)) == on_load


def blocks(told):
    return {s["block"] for s in told["sheaves"]}


SHOWS = {
    **{f"{n} parts": parts(n) for n in range(1, 7)},
    "no block": lambda told, _: not told["sheaves"],
    "one block": lambda told, _: len(blocks(told)) == 1,
    "two blocks": lambda told, _: len(blocks(told)) == 2,
    "three blocks": lambda told, _: len(blocks(told)) == 3,
    "several sheaves": lambda _, text: re.search(r"sheaves: [23]", text),
    "dead end on the load": lambda told, text: told["loads"] and dead_end(told, text, True),
    "dead end off the load": lambda told, text: dead_end(told, text, False),
    "winch on the load": lambda _, text: any(re.search(rf"winch: {{at: {re.escape(p)},", text)
                                             for p in moves(text)),
    "a pull given": lambda _, text: "line_pull:" in text,
    "a load faster than what pulls": lambda told, _: (told["velocity_ratio"] or 1) < 0.6,
    "a vehicle pulling": lambda _, text: "vehicle: true" in text,
    "paying out": lambda told, _: told["haul"] == "out",
    "two winches": lambda told, _: len(told["winches"]) == 2,
    "a fixed bar": lambda _, text: "bar_friction" in text,
    "a floating point": lambda _, text: "floats: true" in text,
    "a hanging block": lambda _, text: "hangs:" in text,
    "a grab": lambda told, _: any(c["kind"] == "grab" for c in told["components"]),
    "two lines": lambda told, _: len(told["line_needed_m"]) > 1,
    "a hung load": lambda _, text: "character: hung" in text,
    "a free load": lambda _, text: "free: true" in text,
    "space": lambda _, text: re.search(r"at: \[[^,\]]+,[^,\]]+,", text),
    "mass and slope": lambda _, text: "slope_deg" in text,
}


def guide_faults(reeve, folder):
    """What is wrong with the example of the guide."""
    guide = (pathlib.Path(folder) / "README.md").read_text(encoding="utf-8")
    examples = re.findall(r"^```yaml\n(.*?)^```$", guide, re.M | re.S)
    if len(examples) != 1:
        yield f"{len(examples)} examples"
    for example in examples:
        with tempfile.NamedTemporaryFile("w", suffix=".yaml", encoding="utf-8") as file:
            file.write(example)
            file.flush()
            yield from (f for f in faults(plan(reeve, file.name)) if "caution PLACING" not in f)


def search_faults(reeve, folder, hand, count):
    """What is wrong with searching the whole library."""
    done = subprocess.run([reeve, "plan", "--reach", folder, "--resist", "40kN", "--winch", hand,
                           "--json"], capture_output=True, timeout=60, encoding="utf-8",
                          check=False)
    told = json.loads(done.stdout)
    if len(told["does"]) + len(told["does_not"]) != count:
        yield "some rigs are neither here nor there"
    if len(told["does"]) < 5:
        yield f"only {len(told['does'])} rigs do"
    ranks = []
    for rig in told["does"]:
        ranks.append((rig["missing"] > 0, rig["weakest"]["use_ratio"] > 0.8,
                      round(rig["velocity_ratio"], 2)))
        if rig["line_pull_high_n"] > rig["rated_on_layer_n"] or rig["line_left_m"] < 0 or \
           rig["weakest"]["use_ratio"] > 1:
            yield f"{rig['file']} does not do: {rig['weakest']}"
    if ranks != sorted(ranks):
        yield f"not the best first: {ranks}"


def main():
    reeve, folder, hand = sys.argv[1:]
    reeve = str(pathlib.Path(reeve).resolve())
    paths = sorted(pathlib.Path(folder).glob("*.yaml"))
    missing = dict(SHOWS)
    names = set()
    failed = 0
    for path in paths:
        told = plan(reeve, path)
        found = list(faults(told))
        text = path.read_text(encoding="utf-8")
        if "refused" not in told:
            names.add(told["rig"])
            missing = {k: v for k, v in missing.items() if not v(told, text)}
        failed += bool(found)
        print(f"{path.stem}: {'FAILED' if found else 'ok'}")
        for fault in found:
            print(f"  {fault}")
    for fault in guide_faults(reeve, folder):
        print(f"guide: {fault}")
        failed += 1
    for fault in search_faults(reeve, folder, hand, len(paths)):
        print(f"search: {fault}")
        failed += 1
    for name in missing:
        print(f"no rig shows: {name}")
    if len(paths) < 24 or len(names) < len(paths):
        print(f"{len(paths)} rigs, {len(names)} names")
        failed += 1
    sys.exit(1 if failed or missing else 0)


main()
