// SPDX-License-Identifier: GPL-3.0-or-later
// Starting and stopping a run, and marks.  Stopping takes a second press in another place.
import { get, put, value } from "./dom.js";
import { change } from "./ask.js";
import { bigButton, closeSoon, field, openPanel, say } from "./panel.js";
import { span } from "./units.js";

const MARKS = ["Slack taken up", "Load moves", "Held", "Paying out", "Something slipped"];
let last = null;

const seen = () => (last ? { boot: last.boot, start: last.start, run: last.run?.number ?? 0 } : undefined);

function startPanel() {
  const { box, input } = field("Name (may be left empty)", { type: "text", maxlength: "60", autocomplete: "off" });
  const start = () => say(() => change("/api/runs", { name: input.value.trim(), seen: seen() }),
    (reply) => `Run ${reply.number} is open.`);
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") start(); });
  openPanel("Start a run", box, bigButton("Start now", start));
}

function stopPanel() {
  const run = last.run;
  openPanel(`Stop ${runTitle(run)}?`, bigButton("Yes, stop this run", () =>
    say(() => change(`/api/runs/${run.number}/stop`, { seen: seen() }), () => `Run ${run.number} is closed and kept.`)));
  closeSoon();
}

function markPanel() {
  const { box, input } = field("Own words", { type: "text", maxlength: "100", autocomplete: "off" });
  const { box: travelBox, input: travel } = field("Load has moved (m, may be left empty)",
    { type: "text", inputmode: "decimal", maxlength: "12", autocomplete: "off" });
  const send = (text) => {
    const metres = travel.value.trim().replace(",", ".");
    if (metres !== "" && !/^[-+]?\d+(\.\d+)?$/.test(metres)) {
      openPanel("Not done: the distance must be a number of metres.");
      return;
    }
    const body = { text };
    if (metres !== "") body.travel_m = Number(metres);
    say(() => change("/api/marks", body), () => `Marked: ${text}`);
  };
  const own = bigButton("Mark", () => { if (input.value.trim()) send(input.value.trim()); else input.focus(); });
  openPanel("Mark this instant", ...MARKS.map((text) => bigButton(text, () => send(text))), box, travelBox, own);
}

// "Run 3: wet rope"; a run that nobody named has its number for a name.
function runTitle(run) {
  const title = `Run ${run.number}`;
  return run.name.toLowerCase() === title.toLowerCase() ? title : `${title}: ${run.name}`;
}

export function startControl() {
  get("run-button").addEventListener("click", () => (last?.run ? stopPanel() : startPanel()));
  get("mark-button").addEventListener("click", markPanel);
}

export function showControl(snapshot) {
  last = snapshot;
  put(get("run-button"), snapshot.run ? "Stop run" : "Start run");
  put(get("run-name"), snapshot.run ? runTitle(snapshot.run) : "No run open; everything is recorded");
  get("run-time").hidden = !snapshot.run;
  if (snapshot.run)
    value(get("run-time"), span((Date.parse(snapshot.utc) - Date.parse(snapshot.run.started_utc)) / 1000));
}
