// SPDX-License-Identifier: GPL-3.0-or-later
// What each sheave cost in one run, as the record tells it: asked for by a press, never live.  A person
// may strike a pull with a reason; both results are then shown.
import { get, make, put } from "./dom.js";
import { LONG_MS, change, read } from "./ask.js";
import { bigButton, field, openPanel, say } from "./panel.js";
import { force, localTime, percent, plain, seconds } from "./units.js";

const REASONS = ["The load caught", "The line kinked or crossed", "Stopped in the middle", "Another load"];
let last = null; // newest snapshot
let asked = 0;   // only the newest question may answer

const share = (ratio) => percent(ratio, 1) ?? "unknown";
const between = (of) => `${plain(of.low_ratio * 100, 1)} to ${share(of.high_ratio)}`;

function result(told) {
  const { efficiency: of, pulls } = told;
  const used = pulls.filter((pull) => pull.kept).length;
  const text = make("p", "result");
  text.append("Each sheave keeps ", make("strong", "", share(of.ratio)), ` (95 % interval ${between(of)}) of the `
    + `line's tension: it costs ${share(1 - of.ratio)}. From ${used} of ${pulls.length} pulls, `
    + `${told.cells.far} against ${told.cells.near}.`);
  return text;
}

function refusal({ text, cure }) {
  const box = make("div", "refusal");
  box.append(make("p", "word", "NO EFFICIENCY"), make("p", "", text ?? ""));
  if (cure) box.append(make("p", "", `What would help: ${cure}`));
  return box;
}

function list(lines) {
  const box = make("ul", "told");
  box.append(...lines.map((line) => make("li", "", line)));
  return box;
}

// What stands beside the figure.
function beside(told, unit) {
  const lines = [];
  if (told.with_struck) lines.push(`With the struck pulls counted: ${share(told.with_struck.ratio)} (${between(told.with_struck)}).`);
  if (told.declared) lines.push(`Declared in the rig: ${between(told.declared)}.`);
  if (told.loss?.model === "with constant")
    lines.push(`Part of the loss does not grow with the load: ${force(told.loss.constant_n, unit) ?? "unknown"} a sheave.`);
  // Where it is not resolved a warning says so, and what would tell.
  if (told.rig_agreement && told.rig_agreement.verdict !== "not resolved")
    lines.push(`Parts of line as declared: ${told.rig_agreement.verdict} by what was measured.`);
  return [...lines, ...told.warnings.map((warning) => warning.text)];
}

// name: a fold that is open stays so when it is filled anew.
function fold(name, title, ...content) {
  const box = make("details");
  box.dataset.fold = name;
  box.open = get("estimate").querySelector(`[data-fold=${name}]`)?.open ?? false;
  box.append(make("summary", "", title), ...content);
  return box;
}

function row(tag, cells) {
  const line = make("tr");
  line.append(...cells.map((cell) => make(tag, "", cell)));
  return line;
}

const doubt = (ratio) => (ratio !== null && ratio < 0.00005 ? "below 0.01\u00a0%" : percent(ratio, 2) ?? "unknown");

function budget(sources) {
  const table = make("table", "parts budget"), head = make("thead"), body = make("tbody");
  head.append(row("th", ["Where doubt comes from", "Kind", "Standard uncertainty"]));
  body.append(...sources.map((one) => row("td", [one.source, one.kind, doubt(one.u_ratio)])));
  table.append(head, body);
  return table;
}

function strikePanel(run, pull) {
  const { box, input } = field("Why it shall not count", { type: "text", maxlength: "100", autocomplete: "off" });
  const strike = (reason) => say(
    () => change(`/api/runs/${run}/pulls/${pull.index}/strike`, { reason, start_s: pull.start_s }, LONG_MS),
    () => { workOut(run); return `Pull ${pull.index} of run ${run} is struck: ${reason}`; });
  openPanel(`Strike pull ${pull.index} of run ${run}?`, ...REASONS.map((text) => bigButton(text, () => strike(text))), box,
    bigButton("Strike it", () => { if (input.value.trim()) strike(input.value.trim()); else input.focus(); }));
}

function takeBackPanel(run, pull) {
  openPanel(`Let pull ${pull.index} of run ${run} count again?`, bigButton("Yes, take the strike back", () => say(
    () => change(`/api/runs/${run}/pulls/${pull.index}/strike`, { reason: null, start_s: pull.start_s }, LONG_MS),
    () => { workOut(run); return `Pull ${pull.index} of run ${run} is no longer struck.`; })));
}

function judged(run, pull, unit) {
  const box = make("div", "judged"), text = make("div");
  const moved = pull.direction === "in" ? "hauling in" : "paying out";
  const figures = [force(pull.mean_tension_n, unit)];
  if (pull.log_ratio !== null) figures.push(`far / near ${plain(Math.exp(pull.log_ratio), 4)}`);
  const state = pull.struck ? `struck: ${pull.why}` : pull.kept ? "counts" : `does not count: ${pull.why ?? "not said"}`;
  text.append(make("p", "pull-name", `${pull.index}. ${moved}, ${seconds(pull.start_s)} to ${seconds(pull.end_s)}`),
    make("p", "", figures.filter(Boolean).join(", ")), make("p", "source", state));
  const button = make("button", "quiet-button", pull.struck ? "Take back" : "Strike");
  button.type = "button";
  button.setAttribute("aria-label", `${button.textContent}: pull ${pull.index}`);
  button.addEventListener("click", () => (pull.struck ? takeBackPanel : strikePanel)(run, pull));
  box.append(text, button);
  box.dataset.counts = pull.kept ? "yes" : "no";
  return box;
}

function show(run, told) {
  const unit = last?.unit ?? "kN";
  const parts = [make("p", "note", `Run ${run}${last?.simulated ? ", SIMULATED" : ""}, worked out at ${localTime(Date.now())}`
    + `${told.rig ? `, rig: ${told.rig}` : ""}`)];
  parts.push(told.refused ? refusal(told.refused) : result(told));
  const lines = beside(told, unit);
  if (lines.length) parts.push(list(lines));
  if (told.budget.length) parts.push(fold("budget", "What the interval is made of", budget(told.budget), make("p", "note", told.estimand ?? "")));
  if (told.pulls.length)
    parts.push(fold("pulls", `Pulls (${told.pulls.length})`, ...told.pulls.map((pull) => judged(run, pull, unit))));
  get("estimate").replaceChildren(...parts);
}

async function newestRun() {
  const { runs } = await read("/api/runs", LONG_MS);
  return runs.at(-1)?.number;
}

async function workOut(wanted) {
  const mine = ++asked;
  const button = get("estimate-button");
  button.disabled = true;
  put(button, "Working...");
  try {
    const run = wanted ?? last?.run?.number ?? await newestRun();
    if (!run) throw new Error("the record holds no run yet");
    const told = await read(`/api/runs/${run}/estimate`, LONG_MS);
    if (mine === asked) show(run, told);
    if (mine === asked) get("estimate-run").value = String(run);
  } catch (fault) {
    if (mine === asked) get("estimate").replaceChildren(make("p", "note", `Not worked out: ${fault.message}`));
  } finally {
    if (mine === asked) {
      button.disabled = false;
      put(button, "Work it out");
    }
  }
}

export function startEstimate() {
  const press = () => {
    const text = get("estimate-run").value.trim();
    if (text && !/^[1-9]\d*$/.test(text))
      get("estimate").replaceChildren(make("p", "note", "Not worked out: the number of a run is asked for."));
    else workOut(text ? Number(text) : undefined);
  };
  get("estimate-button").addEventListener("click", press);
  get("estimate-run").addEventListener("keydown", (event) => { if (event.key === "Enter") press(); });
}

// The run that would be taken.
export function showEstimateRun(snapshot) {
  last = snapshot;
  const run = snapshot.run ? `${snapshot.run.number} (open)` : "the last one";
  if (get("estimate-run").placeholder !== run) get("estimate-run").placeholder = run;
}
