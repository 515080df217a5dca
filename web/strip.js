// SPDX-License-Identifier: GPL-3.0-or-later
// The tensions of the last 60 s.  A gap is drawn as a gap, never as a joining line.
import uPlot from "./uplot.js";
import { get, make, svg } from "./dom.js";
import { forceIn } from "./units.js";

const SPAN_S = 60, GAP_S = 0.3, HEIGHT = 190;
const DASHES = [[], [9, 5], [3, 4], [12, 4, 3, 4]];
let plot = null;
let names = [];
let data = [[]];
let built = "";
let newest = -Infinity;

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function key(series) {
  const box = get("strip-key");
  box.replaceChildren();
  series.forEach((name, i) => {
    const sample = svg("svg", { viewBox: "0 0 34 10", class: "key-line", "aria-hidden": "true" });
    sample.append(svg("line", { x1: 1, x2: 33, y1: 5, y2: 5, "stroke-dasharray": DASHES[i % 4].join(" ") }));
    box.append(sample, make("span", "", name));
  });
}

function options(series, unit, width) {
  const ink = colour("--ink"), quiet = colour("--quiet"), rule = colour("--rule-soft");
  const font = "13px system-ui, 'DejaVu Sans', sans-serif";
  return {
    width, height: HEIGHT, legend: { show: false }, cursor: { show: false },
    scales: { x: { time: false, range: () => [-SPAN_S, 0] }, y: { range: (u, low, high) => [Math.min(0, low ?? 0), Math.max(1, (high ?? 1) * 1.1)] } },
    axes: [
      { font, stroke: quiet, grid: { stroke: rule, width: 1 }, ticks: { show: false }, size: 28,
        splits: [-60, -45, -30, -15, 0], values: (u, at) => at.map((s) => (s === 0 ? "now" : `−${-s} s`)) },
      { font, stroke: quiet, grid: { stroke: rule, width: 1 }, ticks: { show: false }, size: 46,
        label: unit, labelSize: 18, labelFont: font, labelGap: 0 },
    ],
    series: [{}, ...series.map((name, i) => ({
      label: name, stroke: i === 0 ? ink : quiet, width: i === 0 ? 2.5 : 2, dash: DASHES[i % 4],
      points: { show: false }, spanGaps: false,
    }))],
  };
}

function build(series, unit) {
  const box = get("strip");
  plot?.destroy();
  box.replaceChildren();
  names = series;
  if (data.length !== series.length + 1) data = [[], ...series.map(() => [])];
  plot = new uPlot(options(series, unit, box.clientWidth), [[], ...series.map(() => [])], box);
  key(series);
}

export function rebuildStrip() {
  built = "";
}

// A frame came: remember it.  at: seconds of our own clock when it was made.
export function addToStrip(snapshot, at) {
  const tensions = snapshot.channels.filter((channel) => channel.quantity === "tension");
  const series = tensions.map((channel) => channel.name);
  const now = `${snapshot.unit} ${series.join(" ")} ${document.documentElement.dataset.theme}`;
  if (now !== built) {
    if (series.join(" ") !== names.join(" ")) data = [[], ...series.map(() => [])];
    build(series, snapshot.unit);
    built = now;
  }
  if (at <= newest) return;
  if (at - newest > GAP_S && data[0].length) {
    data[0].push(newest + 0.01);
    series.forEach((_, i) => data[i + 1].push(null));
  }
  newest = at;
  data[0].push(at);
  tensions.forEach((channel, i) => data[i + 1].push(forceIn(channel.value, snapshot.unit) ?? null));
  let old = 0;
  while (old < data[0].length && data[0][old] < at - SPAN_S - 1) old += 1;
  if (old > 100) data = data.map((column) => column.slice(old));
}

// The time axis goes on when nothing comes: the hole is seen to grow.
export function drawStrip(at) {
  if (!plot) return;
  const width = get("strip").clientWidth;
  if (width && width !== plot.width) plot.setSize({ width, height: HEIGHT });
  plot.setData([data[0].map((t) => t - at), ...data.slice(1)], true);
}
