// SPDX-License-Identifier: GPL-3.0-or-later
// Record, clock, and what each channel really gives.
import { get, make, put, set, value } from "./dom.js";
import { plain, quantity, span } from "./units.js";

let rows = [];

function build(channels) {
  const body = get("channels");
  body.replaceChildren();
  rows = channels.map((channel) => {
    const row = make("tr");
    const cells = [make("th", "", channel.name), make("td", "value"), make("td", "value"), make("td")];
    row.append(...cells);
    body.append(row);
    return { name: channel.name, cells };
  });
}

function state(channel) {
  const age = channel.age_s === null ? "never read" : `${span(channel.age_s)} old`;
  if (channel.quality === "bad") return `bad: ${channel.cause ?? "unknown"}, ${age}`;
  return channel.cause ? `${channel.quality}: ${channel.cause}` : channel.quality;
}

export function showStatus(snapshot, framesPerSecond) {
  const { record, channels } = snapshot;
  if (rows.length !== channels.length || rows.some((row, i) => row.name !== channels[i].name)) build(channels);
  channels.forEach((channel, i) => {
    const [, now, rate, words] = rows[i].cells;
    value(now, quantity(channel.value, channel.unit, snapshot.unit));
    value(rate, channel.rate_hz === null ? undefined : `${plain(channel.rate_hz, channel.rate_hz < 10 ? 1 : 0)}\u00a0/s`);
    value(words, state(channel));
  });
  const lost = record.lost ? `, ${plain(record.lost, 0)} messages missed` : "";
  value(get("status-record"), record.failing ? `NOT RECORDING to ${record.file}`
    : `${record.file}: ${plain(record.readings, 0)} readings${lost}`);
  value(get("status-commit"), record.last_commit_s === null ? undefined : `${span(record.last_commit_s)} ago`);
  value(get("status-clock"), snapshot.clock_trusted ? "set by a time source" : "not set by a time source: dates may be wrong");
  value(get("status-rate"), framesPerSecond === null ? undefined : `${plain(framesPerSecond, 0)}\u00a0/s`);
  put(get("station"), snapshot.station);
  get("simulated").hidden = !snapshot.simulated;
  set(document.body, "simulated", snapshot.simulated ? "yes" : "no");
}
