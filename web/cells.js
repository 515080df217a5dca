// SPDX-License-Identifier: GPL-3.0-or-later
// Each cell: what it measures, and what the rest of the rig says it should; and the pull under way.
import { get, make, put, set, svg, value } from "./dom.js";
import { MOTION, force, forceRange, percent, plain, seconds } from "./units.js";

const WIDTH = 300, HEIGHT = 26;
const known = (number) => typeof number === "number" && Number.isFinite(number);
let rows = [];
let built = false;

// The range as a hatched band, the measured value as a solid needle on it.
function drawRow() {
  const picture = svg("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "compare", preserveAspectRatio: "none",
    "aria-hidden": "true" });
  const line = svg("line", { x1: 0, x2: WIDTH, y1: HEIGHT - 5, y2: HEIGHT - 5, class: "axis" });
  const band = svg("rect", { y: 4, height: HEIGHT - 9, class: "band" });
  const needle = svg("rect", { y: 0, height: HEIGHT - 5, width: 5, class: "needle" });
  picture.append(line, band, needle);
  return { picture, band, needle };
}

function build(snapshot) {
  const list = get("cells");
  list.replaceChildren();
  rows = snapshot.cells.map((cell) => {
    const row = make("div", "cell");
    const head = make("p", "cell-head");
    const name = make("span", "cell-name", cell.name);
    const measured = make("span", "value measured");
    const predicted = make("em", "value predicted");
    const graph = drawRow();
    const words = make("p", "note cell-words");
    head.append(name, measured, predicted);
    row.append(head, graph.picture, words);
    list.append(row);
    return { name: cell.name, row, measured, predicted, words, ...graph };
  });
  built = true;
  if (!rows.length) list.append(make("p", "note", "The rig names no cell."));
}

// "measured 2.1 % above what the rig says" or why there is nothing to compare.
function compareWords(cell) {
  if (cell.channel === null) return "no channel reads this cell: predicted only";
  if (!known(cell.measured_n)) return known(cell.predicted_n) ? "no reading: shown is what the rig says" : "no reading";
  if (!known(cell.predicted_n)) return "nothing else to compare it with";
  if (cell.measured_n >= cell.low_n && cell.measured_n <= cell.high_n) return "measured, within what the rig says";
  const bound = cell.measured_n > cell.high_n ? cell.high_n : cell.low_n;
  if (Math.abs(bound) < 1) return "measured, outside what the rig says";
  const off = cell.measured_n / bound - 1;
  return `measured, ${percent(Math.abs(off), 1)} ${off > 0 ? "above" : "below"} what the rig says`;
}

function place(row, cell, full) {
  const x = (n) => Math.max(0, Math.min(1, n / full)) * (WIDTH - 5);
  const hasBand = known(cell.low_n) && known(cell.high_n);
  const hasNeedle = known(cell.measured_n);
  row.band.classList.toggle("none", !hasBand);
  row.needle.classList.toggle("none", !hasNeedle);
  if (hasBand) {
    row.band.setAttribute("x", x(cell.low_n));
    row.band.setAttribute("width", Math.max(4, x(cell.high_n) - x(cell.low_n) + 5));
  }
  if (hasNeedle) row.needle.setAttribute("x", x(cell.measured_n));
}

// The scale grows in steps and never shrinks, so that needles do not jump.
let scale_n = 1000;

export function showCells(snapshot) {
  if (!built || rows.length !== snapshot.cells.length || rows.some((row, i) => row.name !== snapshot.cells[i].name))
    build(snapshot);
  for (const cell of snapshot.cells)
    while (Math.max(cell.measured_n ?? 0, cell.high_n ?? 0) > scale_n) scale_n *= 2;
  snapshot.cells.forEach((cell, i) => {
    const row = rows[i];
    value(row.measured, force(cell.measured_n, snapshot.unit));
    value(row.predicted, forceRange(cell.low_n, cell.high_n, snapshot.unit));
    set(row.row, "reading", known(cell.measured_n) ? "yes" : "no");
    put(row.words, compareWords(cell));
    place(row, cell, scale_n);
  });
}

export function blankCells() {
  for (const row of rows) {
    row.band.classList.add("none");
    row.needle.classList.add("none");
    set(row.row, "reading", "no");
    put(row.words, "not live");
  }
  put(get("pull-motion"), "No steady pull");
  put(get("pull-note"), "not live");
}

export function showPull(snapshot) {
  const pull = snapshot.pull;
  put(get("pull-motion"), pull ? MOTION[pull.direction] ?? "Pull" : "No steady pull");
  value(get("pull-seconds"), pull ? seconds(pull.seconds) : undefined);
  value(get("pull-keeps"), pull ? percent(pull.efficiency_ratio, 1) : undefined);
  value(get("pull-scatter"), pull && known(pull.scatter_ratio) ? `±${percent(pull.scatter_ratio, 1)}` : undefined);
  put(get("pull-note"), pull && pull.near && pull.far
    ? `From ${pull.far} against ${pull.near}, ${plain(pull.sheaves_effective, 1) ?? "?"} sheaves between them.`
    : "Shows while the line runs steadily under load, with two cells reading.");
}
