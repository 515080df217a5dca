// SPDX-License-Identifier: GPL-3.0-or-later
// The winch line: the big number, what share of the limits is used, line out and speed.
import { get, put, set, value } from "./dom.js";
import { MOTION, force, forceNumber, forceRange, metres, percent, speed } from "./units.js";

const FULL = 1.2; // right end of a gauge, as a share of the limit

// The tension at the winch: leg 1 of the first winch's line; without a rig the first tension.
export function winchLine(snapshot) {
  const line = snapshot.lines[0];
  const leg = line && snapshot.legs.find((one) => one.line === line.name && one.leg === 1);
  if (leg) {
    const cell = snapshot.cells.find((one) => one.measured_n !== null && one.measured_n === leg.load_n);
    const channel = snapshot.channels.find((one) => one.name === cell?.channel);
    return { name: line.name, ...leg, channel };
  }
  const channel = snapshot.channels.find((one) => one.quantity === "tension");
  const load = channel?.value ?? null;
  return { name: channel?.name ?? "winch line", load_n: load, low_n: load, high_n: load,
    source: load === null ? null : "measured", channel };
}

const at = (ratio) => `${Math.max(0, Math.min(1, ratio / FULL)) * 100}%`;
const known = (number) => typeof number === "number" && Number.isFinite(number);

function gauge(id, use, { measured = true, peak = null } = {}) {
  const box = get(id);
  const fill = box.querySelector(".fill");
  fill.style.width = known(use) ? at(use) : "0";
  set(box, "use", !known(use) ? "gone" : use >= 1 ? "over" : use >= marks.warning ? "near" : "below");
  set(box, "source", measured ? "measured" : "predicted");
  const mark = box.querySelector(".peak");
  if (mark) {
    mark.hidden = !known(peak);
    if (known(peak)) mark.style.left = at(peak);
  }
}

const marks = { warning: Infinity };

// The rig says where the marks stand.
export function placeMarks(rig) {
  marks.warning = rig.warning_ratio ?? Infinity;
  for (const mark of document.querySelectorAll(".gauge .warn")) {
    mark.hidden = !known(rig.warning_ratio);
    mark.style.left = at(rig.warning_ratio ?? 0);
  }
  for (const mark of document.querySelectorAll(".gauge .limit")) mark.style.left = at(1);
}

const lineLimit = (snapshot, name) =>
  snapshot.components.find((part) => part.kind === "line" && part.name === name)?.limit_n ?? null;

// Peaks are the channel's: of the cell that reads this leg, live or not.
function peakOf(snapshot, pull) {
  if (pull.channel) return pull.channel.peak;
  const cell = snapshot.cells.find((one) => one.channel !== null && one.measured_n === null);
  return snapshot.channels.find((one) => one.name === cell?.channel)?.peak ?? null;
}

// The part, besides the winch line itself, that is nearest to its limit.
function otherPart(snapshot, pull) {
  const others = snapshot.components.filter((part) => known(part.use_worst_ratio) &&
    !(part.kind === "line" && part.name === pull.name));
  return others.reduce((most, part) => (!most || part.use_worst_ratio > most.use_worst_ratio ? part : most), null);
}

// Twenty times a second.
export function showGauges(snapshot) {
  const pull = winchLine(snapshot);
  const limit = lineLimit(snapshot, pull.name);
  const peak = peakOf(snapshot, pull);
  const highest = pull.source === "measured" ? pull.load_n : pull.high_n;
  gauge("gauge-line", known(highest) && limit ? highest / limit : null,
    { measured: pull.source === "measured", peak: pull.source === "measured" && known(peak) && limit ? peak / limit : null });
  const part = otherPart(snapshot, pull);
  gauge("gauge-part", part ? part.use_worst_ratio : null, { measured: part?.source === "measured" });
}

export function blankLoad() {
  put(get("load-source"), "not live");
  put(get("fact-motion"), "Line speed");
  set(get("load-value"), "source", "measured");
  gauge("gauge-line", null);
  gauge("gauge-part", null);
}

function showNumeral(snapshot, pull) {
  const unit = snapshot.unit;
  const measured = pull.source !== "predicted";
  const range = forceRange(pull.low_n, pull.high_n, unit);
  set(get("load-value"), "source", measured ? "measured" : "predicted");
  const shown = measured ? forceNumber(pull.load_n, unit) : range?.replace(/\u00a0.*/, "");
  set(get("load-value"), "length", !shown || shown.length < 5 ? "short" : shown.length < 6 ? "middle" : shown.length < 10 ? "long" : "longest");
  value(get("load-value"), shown);
  put(get("load-unit"), unit);
  put(get("load-title"), `Winch line: ${pull.name}`);
  put(get("load-source"), pull.source === "predicted" ? "predicted, no reading"
    : pull.source === "measured" ? "measured" : "no reading");
}

// Five times a second: digits that change faster cannot be read.
export function showLoad(snapshot) {
  const pull = winchLine(snapshot);
  const line = snapshot.lines[0];
  const limit = lineLimit(snapshot, pull.name);
  const part = otherPart(snapshot, pull);
  const highest = pull.source === "measured" ? pull.load_n : pull.high_n;

  showNumeral(snapshot, pull);
  put(get("gauge-line-name"), limit ? `${pull.name}, limit ${force(limit, snapshot.unit)}` : `${pull.name}, not rated`);
  value(get("gauge-line-use"), limit && known(highest) ? percent(highest / limit) : undefined);
  put(get("gauge-part-name"), part ? `${part.name}, limit ${force(part.limit_n, snapshot.unit)}` : "most used other part");
  value(get("gauge-part-use"), part ? percent(part.use_worst_ratio) : undefined);
  value(get("fact-out"), line ? metres(line.payout_m) : undefined);
  put(get("fact-motion"), MOTION[line?.motion] ?? "Line speed");
  value(get("fact-speed"), line ? speed(line.speed_mps) : undefined);
  put(get("fact-peak-name"), pull.source === "predicted" ? "Peak until lost" : "Peak");
  value(get("fact-peak"), force(peakOf(snapshot, pull), snapshot.unit));
  value(get("fact-left"), line ? metres(line.left_m, 1) : undefined);
}
