// SPDX-License-Identifier: GPL-3.0-or-later
// The Watch view: takes frames from the stream and hands them to the parts of the page.
import { read } from "./ask.js";
import { blankAll, get, put, set } from "./dom.js";
import { Stream } from "./stream.js";
import { showBanner, showStale, startBanner } from "./banner.js";
import { blankLoad, placeMarks, showGauges, showLoad, winchLine } from "./load.js";
import { blankCells, showCells, showPull } from "./cells.js";
import { blankDrawing, drawRig, showDrawing, showParts } from "./drawing.js";
import { addToStrip, drawStrip } from "./strip.js";
import { showControl, startControl } from "./control.js";
import { showAlarms } from "./alarms.js";
import { showStatus } from "./status.js";
import { showEstimateRun, startEstimate } from "./estimate.js";

const TEXT_EVERY_S = 0.19; // digits at five a second; bars and curves at every frame
let last = null;
let textAt = -Infinity;
let rigAsked = null;
let rig = null;
let arrivals = [];
let painting = false;

async function fetchRig(mark) {
  rigAsked = mark;
  try {
    rig = await read("/api/rig");
    drawRig(rig);
    placeMarks(rig);
    textAt = -Infinity;
  } catch {
    setTimeout(() => { rigAsked = null; }, 1000);
  }
}

function rate(at) {
  arrivals.push(at);
  arrivals = arrivals.filter((one) => one > at - 3);
  return arrivals.length > 1 ? (arrivals.length - 1) / (at - arrivals[0]) : null;
}

function showText(snapshot, framesPerSecond) {
  showLoad(snapshot);
  showCells(snapshot);
  showPull(snapshot);
  showParts(snapshot);
  showControl(snapshot);
  showEstimateRun(snapshot);
  showStatus(snapshot, framesPerSecond);
}

const warning = () => rig?.warning_ratio ?? Infinity;

function frame(snapshot, at) {
  const framesPerSecond = rate(at);
  const changed = !last || last.state !== snapshot.state || last.data !== snapshot.data;
  const dead = document.body.dataset.live !== "yes";
  last = { ...snapshot, at };
  set(document.body, "live", "yes");
  set(document.body, "state", snapshot.state);
  showBanner(snapshot);
  showAlarms(snapshot);
  const mark = `${snapshot.start} ${snapshot.rig_number}`;
  if (mark !== rigAsked) fetchRig(mark);
  const withText = changed || dead || at - textAt >= TEXT_EVERY_S;
  if (withText) {
    textAt = at;
    showText(snapshot, framesPerSecond);
  }
  showGauges(snapshot);
  showDrawing(snapshot, warning(), withText);
  addToStrip(snapshot, at);
  paint();
}

function paint() {
  if (painting) return;
  painting = true;
  requestAnimationFrame(() => {
    painting = false;
    drawStrip(performance.now() / 1000);
  });
}

function stale({ link, slow, since, at }) {
  const first = document.body.dataset.live !== "no";
  set(document.body, "live", "no");
  if (first || !last) {
    blankAll();
    blankLoad();
    blankCells();
    blankDrawing();
    arrivals = [];
  }
  showStale(last, last ? winchLine(last).load_n : null, at - since, slow ? "slow" : link ? "silent" : "none");
  paint();
}

function theme(name) {
  document.documentElement.dataset.theme = name;
  put(get("theme"), name === "day" ? "Night" : "Day");
  try {
    localStorage.setItem("theme", name);
  } catch {
    // A browser that keeps nothing: the switch still works for this visit.
  }
}

function keptTheme() {
  try {
    return localStorage.getItem("theme") === "night" ? "night" : "day";
  } catch {
    return "day";
  }
}

theme(keptTheme());
get("theme").addEventListener("click", () =>
  theme(document.documentElement.dataset.theme === "day" ? "night" : "day"));
startBanner();
startControl();
startEstimate();
new Stream({ frame, stale, restart: () => { rigAsked = null; } });
