// SPDX-License-Identifier: GPL-3.0-or-later
// All alarms that are not normal, newest first, each with what to do and a button for having seen it.
import { get, make, put } from "./dom.js";
import { change } from "./ask.js";
import { UNSEEN, wordFor } from "./banner.js";
import { say } from "./panel.js";
import { localTime } from "./units.js";

// The states of IEC 62682 in plain words.
const STATES = {
  "unacknowledged": "new",
  "acknowledged": "seen",
  "returned unacknowledged": "gone, not seen",
  "latched unacknowledged": "held, not seen",
  "latched acknowledged": "held",
  "shelved": "set aside",
  "out of service": "out of service",
};

let shown = null;
let rows = [];

function row(alarm) {
  const item = make("li", "alarm");
  item.dataset.level = alarm.data ? "lost" : alarm.level;
  item.dataset.unseen = UNSEEN.has(alarm.state) ? "yes" : "no";
  const text = make("div", "alarm-text");
  const head = make("p", "alarm-head");
  const time = make("span", "alarm-time");
  const words = make("p");
  head.append(make("strong", "", wordFor(alarm)), make("span", "alarm-state", STATES[alarm.state] ?? alarm.state), time);
  text.append(head, words);
  if (alarm.action) text.append(make("p", "alarm-do", alarm.action));
  item.append(text);
  const path = `/api/alarms/${encodeURIComponent(alarm.name)}`;
  const button = make("button", "seen");
  button.type = "button";
  if (UNSEEN.has(alarm.state)) {
    button.textContent = "Seen";
    button.addEventListener("click", () => say(() => change(`${path}/acknowledge`)));
    item.append(button);
  } else if (alarm.state === "latched acknowledged") {
    button.textContent = "Reset";
    button.addEventListener("click", () => say(() => change(`${path}/reset`), () => "Reset."));
    item.append(button);
  }
  return { item, time, words };
}

export function showAlarms(snapshot) {
  const { alarms } = snapshot;
  const list = get("alarms");
  // A button must not be replaced under a finger: rows stay as long as only their words change.
  const now = JSON.stringify(alarms.map(({ name, level, state, data, action }) => [name, level, state, data, action]));
  if (now !== shown) {
    shown = now;
    rows = alarms.map(row);
    list.replaceChildren(...(rows.length ? rows.map((one) => one.item) : [make("li", "note", "None.")]));
  }
  alarms.forEach((alarm, i) => {
    put(rows[i].time, `since ${localTime(alarm.since_utc)}`);
    put(rows[i].words, alarm.text && alarm.text !== alarm.name ? `${alarm.name}: ${alarm.text}` : alarm.name);
  });
}
