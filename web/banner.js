// SPDX-License-Identifier: GPL-3.0-or-later
// The banner (is anything wrong, and what to do) and beside it the strip for lost data.  Overload
// keeps the banner whatever else is lost; lost data takes it only when nothing else is left to say.
import { get, put, set } from "./dom.js";
import { force, percent, span } from "./units.js";
import { change } from "./ask.js";
import { say } from "./panel.js";

const ACTIVE = new Set(["unacknowledged", "acknowledged", "latched unacknowledged", "latched acknowledged"]);
export const UNSEEN = new Set(["unacknowledged", "returned unacknowledged", "latched unacknowledged"]);

const ENDINGS = [
  [" tension lost", "TENSION LOST"],
  [" creeps", "LINE CREEPS"],
  [" zeroed", "CELL ZEROED"],
  [" failed", "OUTPUT FAILED"],
];

// The big word for an alarm.
export function wordFor(alarm) {
  if (alarm.name === "record") return "NOT RECORDING";
  if (alarm.about === "limit") return alarm.level === "danger" ? "OVER LIMIT" : "NEAR LIMIT";
  const ending = ENDINGS.find(([end]) => alarm.name.endsWith(end));
  if (ending) return ending[1];
  if (alarm.data) return "READING LOST";
  return alarm.level === "danger" ? "DANGER" : "WARNING";
}

const ADVICE = {
  danger: "Stop hauling. Hold. Find the cause before going on.",
  warning: "Slow down and watch it.",
  data: "Do not haul on what you cannot see.",
};

const weight = (alarm) =>
  (alarm.level === "danger" ? 4 : 0) + (alarm.about === "limit" ? 2 : 0) + (UNSEEN.has(alarm.state) ? 1 : 0);

function worst(alarms) {
  return alarms.reduce((best, alarm) => (!best || weight(alarm) > weight(best) ? alarm : best), null);
}

function quiet(snapshot, lost) {
  const unseen = snapshot.alarms.filter((alarm) => UNSEEN.has(alarm.state)).length;
  const part = snapshot.weakest;
  const use = part && percent(part.use_worst_ratio);
  return {
    level: "normal", word: lost || snapshot.data !== "all" ? "NO LOAD ALARM" : "NO ALARM", alarm: lost,
    cause: use ? `Most used: ${part.name}, ${use} of its limit` : "No rated part carries a known load.",
    advice: lost ? lost.action || ADVICE.data : unseen
      ? `${unseen} ${unseen === 1 ? "alarm" : "alarms"} came and went, not seen: see the list.` : !snapshot.components.length
        ? "No part of the line is watched: only the channels are." : snapshot.not_rated.length
      ? `${snapshot.not_rated.length} ${snapshot.not_rated.length === 1 ? "part is" : "parts are"} not rated and not watched.`
      : "Watch the line, not only this page.",
  };
}

// What the banner says for a snapshot.  Pure.
export function describe(snapshot) {
  const active = snapshot.alarms.filter((alarm) => ACTIVE.has(alarm.state));
  const load = worst(active.filter((alarm) => !alarm.data));
  const lost = worst(active.filter((alarm) => alarm.data));
  if (load) {
    return {
      level: load.level, word: wordFor(load), alarm: load,
      cause: load.text || load.name, advice: load.action || ADVICE[load.level],
    };
  }
  if (snapshot.data === "none" || (lost && (lost.level === "danger" || snapshot.state !== "normal"))) {
    return {
      level: "lost", word: snapshot.data === "none" ? "NO READINGS" : "READING LOST", alarm: lost,
      cause: lost ? lost.text || lost.name : "No channel gives a reading.",
      advice: lost?.action || ADVICE.data,
    };
  }
  // The state stands above what the list explains: never look calmer than the station says.
  if (snapshot.state !== "normal") {
    return {
      level: snapshot.state, word: snapshot.state === "danger" ? "DANGER" : "WARNING", alarm: null,
      cause: "See the alarms.", advice: ADVICE[snapshot.state],
    };
  }
  return quiet(snapshot, lost);
}

// "lead, dead (no communication), tree (frozen)": names with one cause in common stand together.
function named(channels) {
  const causes = new Map();
  for (const channel of channels) {
    const cause = channel.cause ?? "";
    causes.set(cause, [...(causes.get(cause) ?? []), channel.name]);
  }
  return [...causes].map(([cause, names]) => names.join(", ") + (cause && ` (${cause})`)).join(", ");
}

// What the strip says.  Pure.
export function describeData(snapshot) {
  const gone = snapshot.channels.filter((channel) => channel.quality === "bad" || channel.value === null);
  const doubtful = snapshot.channels.filter((channel) => channel.quality === "uncertain" && channel.value !== null);
  const count = snapshot.channels.length;
  if (gone.length && snapshot.data !== "none")
    return { level: "some", text: `LOST: ${named(gone)}. Live: ${count - gone.length} of ${count}` };
  if (snapshot.data === "none")
    return { level: "none", text: `ALL LOST: ${named(gone) || "no channel"}` };
  if (snapshot.record.failing) return { level: "some", text: "NOT RECORDING: readings may be lost" };
  if (snapshot.data === "some") return { level: "some", text: "Some readings are lost: see channels" };
  if (snapshot.geometry?.state === "kept")
    return { level: "some", text: `PREDICTIONS OLD, the rig has moved on: ${snapshot.geometry.text}` };
  if (doubtful.length) return { level: "some", text: `DOUBTFUL: ${named(doubtful)}` };
  return { level: "all", text: `Live: ${count} of ${count} channels` };
}

const BARS = { normal: 0, warning: 1, lost: 2, stale: 2, danger: 3 };

let shown = null;
let spoken = "";

function show(what, before = "") {
  const banner = get("banner");
  set(banner, "level", what.level);
  set(banner, "before", before);
  set(banner, "bars", String(BARS[what.level]));
  put(get("banner-word"), what.word);
  put(get("banner-cause"), what.cause);
  put(get("banner-do"), what.advice);
  const unseen = what.alarm && UNSEEN.has(what.alarm.state);
  get("banner-seen").hidden = !unseen;
  shown = what;
  set(banner, "unseen", unseen ? "yes" : "no");
  // Spoken once for each new thing, never for changing numbers.
  const heard = what.level === "normal" ? "" : what.word;
  if (heard !== spoken) {
    spoken = heard;
    put(get("announce"), heard && `${what.word}. ${what.advice}`);
  }
}

function showData(what) {
  set(get("data-strip"), "level", what.level);
  put(get("data-text"), what.text);
}

export function showBanner(snapshot) {
  show(describe(snapshot));
  showData(describeData(snapshot));
  const title = snapshot.state === "normal" ? snapshot.station : `${shown.word} · ${snapshot.station}`;
  if (document.title !== title) document.title = title;
}

const WHY = {
  slow: ["READINGS TOO LATE", "The link to the station is too slow: what comes is old."],
  silent: ["NO READINGS", "The station answers but measures nothing."],
  none: ["NO CONNECTION", "No connection to the station."],
};

// Nothing live comes any more.  last: the last live snapshot or null; age_s: how old it is; link: one
// of WHY.
export function showStale(last, pull_n, age_s, link) {
  const before = last ? describe(last) : null;
  const danger = before?.level === "danger";
  const was = pull_n === null || pull_n === undefined ? "" : `Last winch line: ${force(pull_n, last.unit)}, `;
  const [word, cause] = WHY[link];
  show({
    level: "stale", alarm: null,
    word: danger ? `${before.word} · NOW BLIND` : word,
    cause: last ? `${cause} ${was}${span(age_s)} ago.` : cause,
    advice: danger ? before.advice : "Stop hauling and secure the line until numbers are back.",
  }, danger ? "danger" : "");
  showData({ level: "none", text: last ? "Nothing is live: numbers are blanked" : "No readings yet" });
  const title = "NOT LIVE · reeve";
  if (document.title !== title) document.title = title;
}

export function startBanner() {
  get("banner-seen").addEventListener("click", async () => {
    const alarm = shown?.alarm;
    if (!alarm) return;
    await say(() => change(`/api/alarms/${encodeURIComponent(alarm.name)}/acknowledge`));
  });
}
