// SPDX-License-Identifier: GPL-3.0-or-later
// The line as it is reeved, as a serpent: legs are rows from the winch on, sheaves are half-turns
// between them.  Not to scale.  A measured leg is solid, a predicted one hollow, its text slanted; each
// says so in words.  Labels never depend on geometry, so they cannot meet.
import { get, make, put, svg, value } from "./dom.js";
import { force, forceRange, percent } from "./units.js";

const WIDTH = 360, LEFT = 44, RIGHT = WIDTH - 44, ROW = 84, HEAD = 50, FOOT = 62, NAME_ROOM = 262, END_ROOM = 320;
let drawn = { number: null, start: null };
let legs = [];

const known = (number) => typeof number === "number" && Number.isFinite(number);
const sideX = (index) => (index % 2 === 0 ? LEFT : RIGHT);

// What stands at a step, the most telling first: what finds no room is left to the title.
function stepWords(step, isEnd) {
  const words = [step.name];
  if (step.kind === "block" && isEnd) words.push("becket");
  if (step.kind === "block" && !isEnd && step.sheaves > 1) words.push(`sheave ${step.sheave} of ${step.sheaves}`);
  if (step.kind === "point" && !isEnd) words.push("made fast");
  if (step.floats) words.push("floats");
  else if (step.moves) words.push("moves");
  if (step.with.length) words.push(`with ${step.with.join(", ")}`);
  return words;
}

// Text that is cut where it would be wider than its place; the whole stands in its title.
function nameText(attributes, words, room) {
  const text = svg("text", { ...attributes, class: "part-name" }, words.join(", "));
  text.words = words;
  text.room = room;
  return text;
}

function fitNames(picture) {
  for (const text of picture.querySelectorAll(".part-name")) {
    const whole = text.textContent;
    let kept = text.words.length;
    while (kept > 1 && text.getComputedTextLength() > text.room)
      text.textContent = `${text.words.slice(0, --kept).join(", ")} …`;
    for (let name = text.words[0]; name.length > 4 && text.getComputedTextLength() > text.room;) {
      name = name.slice(0, -2);
      text.textContent = `${name}…`;
    }
    if (text.textContent !== whole) text.append(svg("title", {}, whole));
  }
}

const knot = (x, y) => svg("path", { d: `M ${x - 9} ${y} l 9 -9 l 9 9 l -9 9 z`, class: "knot" });

// The first end has its name above its row, the last below: there is nothing else.
function ending(step, index, y) {
  const group = svg("g", { class: "ending" });
  const x = sideX(index), out = index % 2 === 0 ? -1 : 1;
  if (step.kind === "winch")
    group.append(svg("circle", { cx: x + out * 14, cy: y, r: 15, class: "drum" }),
      svg("circle", { cx: x + out * 14, cy: y, r: 5, class: "hub" }));
  else if (step.kind === "block") group.append(svg("circle", { cx: x + out * 9, cy: y, r: 8, class: "becket" }));
  else if (step.cut) group.append(knot(x + out * 9, y));
  else group.append(svg("rect", { x: x + Math.min(0, out * 16), y: y - 12, width: 16, height: 24, class: "anchor" }));
  group.append(nameText({ x: x + out * 30, y: index === 0 ? y - 34 : y + 48,
    "text-anchor": out < 0 ? "start" : "end" }, stepWords(step, !step.cut), END_ROOM));
  return group;
}

// A sheave is a half-turn, a grab a knot in a bracket: there the line does not run.
function turn(step, index, y) {
  const group = svg("g", { class: "turn" });
  const x = sideX(index), isLeft = index % 2 === 0, middle = y + ROW / 2;
  if (step.kind === "point") {
    const out = isLeft ? -24 : 24;
    group.append(svg("path", { d: `M ${x} ${y} h ${out} v ${ROW} h ${-out}`, class: "bend" }), knot(x + out, middle));
  } else {
    group.append(svg("path", { d: `M ${x} ${y} A ${ROW / 2} ${ROW / 2} 0 0 ${isLeft ? 0 : 1} ${x} ${y + ROW}`, class: "bend" }),
      svg("circle", { cx: x, cy: middle, r: 5, class: "pin" }));
  }
  group.append(nameText({ x: isLeft ? x + 12 : x - 12, y: middle + 5, "text-anchor": isLeft ? "start" : "end" },
    stepWords(step, false), NAME_ROOM));
  return group;
}

function drawLeg(row, y, path, number, cell, last) {
  const line = path.line;
  const casing = svg("line", { x1: LEFT, x2: RIGHT, y1: y, y2: y, class: "casing" });
  const edge = svg("line", { x1: LEFT, x2: RIGHT, y1: y, y2: y, class: "edge" });
  const body = svg("line", { x1: LEFT, x2: RIGHT, y1: y, y2: y, class: "body" });
  const name = number === 1 && path.winch ? "part 1, lead line" : last ? `part ${number}, dead end` : `part ${number}`;
  const load = svg("text", { x: WIDTH / 2, y: y - 12, class: "leg-load", "text-anchor": "middle" });
  const words = svg("text", { x: WIDTH / 2, y: y + 25, class: "leg-words", "text-anchor": "middle" });
  row.append(casing, edge, body, load, words);
  if (cell) row.append(svg("rect", { x: WIDTH / 2 - 7, y: y - 7, width: 14, height: 14, class: "cell-mark" }));
  legs.push({ line, number, group: row, edge, body, casing, load, words, name, cell: cell?.name });
}

// A tail hangs loose from the grab next to it: no leg of it is counted.
function withoutTails(steps) {
  let first = 0, last = steps.length - 1;
  const isGrab = (i) => i > 0 && i < steps.length - 1 && steps[i].kind === "point";
  if (steps[first]?.kind === "tail") do first++; while (first < last && !isGrab(first));
  if (steps[last]?.kind === "tail") do last--; while (last > first && !isGrab(last));
  return steps.slice(first, last + 1).map((step, i) => ({ ...step, cut: isGrab(first + i) }));
}

function drawPath(picture, path, rig, top) {
  const steps = withoutTails(path.steps);
  steps.forEach((step, i) => {
    const y = top + i * ROW;
    if (i < steps.length - 1) {
      const group = svg("g", { class: "leg" });
      const cell = rig.cells.find((one) => one.line === path.line && one.leg === i + 1);
      drawLeg(group, y, path, i + 1, cell, i === steps.length - 2 && i > 0);
      picture.append(group);
    }
    if (i === 0) picture.append(ending(step, 0, y));
    else if (i === steps.length - 1) picture.append(ending(step, i, y - ROW));
    else picture.append(turn(step, i, y - ROW));
  });
  return top + Math.max(0, steps.length - 2) * ROW + FOOT;
}

export function drawRig(rig) {
  const box = get("drawing");
  legs = [];
  put(get("rig-name"), rig.name ?? "No rig declared");
  box.replaceChildren();
  if (!rig.paths.length) {
    box.append(make("p", "note", "Without a rig nothing is predicted and no part is watched."));
    return;
  }
  const picture = svg("svg", { role: "img", "aria-label": "The line part by part, not to scale" });
  let y = 0;
  for (const path of rig.paths) {
    if (rig.paths.length > 1) {
      picture.append(nameText({ x: 4, y: y + 18, "font-weight": "bold" }, [path.line], END_ROOM));
      y += 26;
    }
    y = drawPath(picture, path, rig, y + HEAD);
  }
  picture.setAttribute("viewBox", `0 0 ${WIDTH} ${y}`);
  box.append(picture);
  fitNames(picture);
  box.append(make("p", "note", rig.why ? `Nothing is predicted: ${rig.why}` : "Not to scale. Solid: measured. Hollow: predicted."));
  drawn = { number: rig.number };
}

export const drawnRig = () => drawn.number;

function thickness(use) {
  return 4 + 9 * Math.min(1.2, Math.max(0, use ?? 0));
}

function paintLeg(leg, load, use, warning) {
  const state = !load || !known(load.load_n) ? "gone" : use >= 1 ? "over" : use >= warning ? "near" : "below";
  const kind = `leg ${state} is-${load?.source ?? "unknown"}`;
  if (leg.group.getAttribute("class") !== kind) leg.group.setAttribute("class", kind);
  const width = thickness(use);
  leg.edge.style.strokeWidth = width + 3;
  leg.casing.style.strokeWidth = width + 7;
  leg.body.style.strokeWidth = width;
}

function legText(leg, load, use, unit) {
  const number = load?.source === "predicted" ? forceRange(load.low_n, load.high_n, unit) : force(load?.load_n, unit);
  const share = percent(use);
  value(leg.load, number === undefined ? undefined : share ? `${number} · ${share}` : number);
  const how = !load?.source ? "no value" : load.source === "measured" ? "measured" : "predicted";
  put(leg.words, `${leg.name}, ${how}${how === "measured" && leg.cell ? ` (${leg.cell})` : ""}`);
}

export function showDrawing(snapshot, warning, withText) {
  for (const leg of legs) {
    const load = snapshot.legs.find((one) => one.line === leg.line && one.leg === leg.number);
    const limit = snapshot.components.find((part) => part.kind === "line" && part.name === leg.line)?.limit_n;
    const use = load && limit && known(load.high_n) ? load.high_n / limit : null;
    paintLeg(leg, load, use, warning);
    if (withText) legText(leg, load, use, snapshot.unit);
  }
}

export function blankDrawing() {
  for (const leg of legs) {
    paintLeg(leg, null, null, Infinity);
    put(leg.words, `${leg.name}, not live`);
  }
}

let partRows = [];

function buildParts(components) {
  const body = get("parts");
  body.replaceChildren();
  partRows = components.map((part) => {
    const row = make("tr");
    const cells = [make("th", "", `${part.name} (${part.kind})`), make("td", "value"), make("td", "value"), make("td")];
    row.append(...cells);
    body.append(row);
    return { name: part.name, kind: part.kind, cells };
  });
}

function stale(components) {
  return partRows.length !== components.length ||
    partRows.some((row, i) => row.name !== components[i].name || row.kind !== components[i].kind);
}

export function showParts(snapshot) {
  if (stale(snapshot.components)) buildParts(snapshot.components);
  snapshot.components.forEach((part, i) => {
    const [, load, use, limit] = partRows[i].cells;
    const predicted = part.source === "predicted";
    load.classList.toggle("predicted", predicted);
    value(load, predicted ? forceRange(part.low_n, part.high_n, snapshot.unit) : force(part.load_n, snapshot.unit));
    value(use, part.limit_n === null ? "–" : percent(part.use_worst_ratio));
    put(limit, part.limit_n === null ? "not rated" : force(part.limit_n, snapshot.unit));
  });
  const weakest = snapshot.weakest;
  put(get("weakest"), weakest ? `First to reach its limit: ${weakest.name} (${weakest.source ?? "no value"}).`
    : "No rated part carries a known load.");
  put(get("not-rated"), snapshot.not_rated.length
    ? `Not rated, not watched: ${snapshot.not_rated.join(", ")}.` : "");
}
