// SPDX-License-Identifier: GPL-3.0-or-later
// The page's pure parts, and the contrast of its colours, without a browser.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { describe, describeData } from "../../web/banner.js";
import { Clock } from "../../web/stream.js";
import * as units from "../../web/units.js";

const plain = (text) => text?.replace(/[\u00a0\u202f]/g, " ");

test("forces are shown in the unit people chose, with no more digits than can be read", () => {
  // 1 kgf = 9.80665 N, 1 lbf = 4.4482216152605 N: exact by definition.
  const cases = [["kN", "21.3 kN"], ["N", "21 300 N"], ["daN", "2 130 daN"], ["kgf", "2 172 kgf"], ["tf", "2.17 tf"],
    ["lbf", "4 790 lbf"], ["klbf", "4.8 klbf"]];
  for (const [unit, want] of cases) assert.equal(plain(units.force(21300, unit)), want, unit);
});

test("a number that is none becomes no text, and nothing is ever minus zero", () => {
  for (const none of [null, undefined, NaN, Infinity]) {
    assert.equal(units.force(none, "kN"), undefined);
    assert.equal(units.percent(none), undefined);
    assert.equal(units.metres(none), undefined);
  }
  assert.equal(plain(units.force(-10, "kN")), "0.0 kN");
  assert.equal(plain(units.force(-400, "kN")), "−0.4 kN");
});

test("speed has no sign: words say which way", () => {
  assert.equal(plain(units.speed(-0.118)), "0.12 m/s");
  assert.equal(units.MOTION.in, "Hauling in");
});

test("a frame that comes later than the clocks say is old", () => {
  const clock = new Clock();
  assert.equal(clock.age("a", 100, 5), 0);
  assert.ok(Math.abs(clock.age("a", 100.05, 5.06) - 0.01) < 0.001);
  assert.ok(clock.age("a", 100.1, 9) > 3.8);
  assert.ok(clock.age("a", 104.0, 9.01) < 0.2);
});

test("a restarted station's clock is learned anew", () => {
  const clock = new Clock();
  clock.age("a", 100, 5);
  assert.equal(clock.age("b", 3, 9), 0);
  assert.ok(clock.age("b", 3.1, 11) > 1.8);
});

test("asking for the clock bounds how old a frame on a slow link can be", () => {
  const clock = new Clock();
  assert.equal(clock.age("a", 100, 51.2), 0); // each frame takes 1.2 s: none looks late
  assert.equal(clock.oldest(100, 51.2), Infinity);
  clock.bound("a", 100.2, 50.3); // asked at 50.3, answered when our clock stood at 51.4
  assert.ok(clock.oldest(100.3, 51.5) > 1.0);
  clock.bound("a", 103, 52.99); // a quick answer ends the doubt
  assert.ok(clock.oldest(103.05, 53.1) < 0.2);
  clock.age("b", 3, 60); // another start: nothing is known again
  assert.equal(clock.oldest(3, 60), Infinity);
});

test("clocks that drift apart by 50 millionths for a day do not make frames look old", () => {
  const clock = new Clock();
  let oldest = 0;
  for (let s = 0; s < 86400; s += 10) oldest = Math.max(oldest, clock.age("a", s, s * 1.00005));
  assert.ok(oldest < 0.01, `${oldest}`);
});

const snapshot = (over) => ({ state: "normal", data: "all", unit: "kN", alarms: [], channels: [], not_rated: [], components: [],
  weakest: null, record: { failing: false }, ...over });
const alarm = (over) => ({ name: "x", level: "danger", state: "unacknowledged", data: false, about: "always", text: "t",
  action: "", ...over });

test("the banner never looks calmer than the station's own state", () => {
  for (const state of ["warning", "danger"])
    for (const data of ["all", "some", "none"])
      assert.notEqual(describe(snapshot({ state, data })).level, "normal", `${state} ${data}`);
});

test("of several alarms the banner takes danger before warning, load before lost data", () => {
  const over = alarm({ name: "over", about: "limit", state: "acknowledged" });
  const near = alarm({ name: "near", about: "limit", level: "warning" });
  const lost = alarm({ name: "lead lost", data: true });
  for (const alarms of [[over, near, lost], [lost, near, over]])
    assert.equal(describe(snapshot({ state: "danger", alarms })).alarm, over);
  assert.equal(describe(snapshot({ state: "danger", alarms: [lost] })).word, "READING LOST");
});

test("what is always watched has its own words", () => {
  const words = [["wire tension lost", "TENSION LOST"], ["wire creeps", "LINE CREEPS"], ["lead zeroed", "CELL ZEROED"],
    ["record", "NOT RECORDING"], ["horn failed", "OUTPUT FAILED"], ["snatch", "DANGER"]];
  for (const [name, word] of words)
    assert.equal(describe(snapshot({ state: "danger", alarms: [alarm({ name })] })).word, word, name);
});

test("a record that fails is in the strip even when every channel is live", () => {
  assert.match(describeData(snapshot({ record: { failing: true } })).text, /NOT RECORDING/);
});

test("predictions that did not follow the rig are told, behind lost readings", () => {
  const geometry = { state: "kept", line_in_m: 5.1, text: "the load cannot go there" };
  const what = describeData(snapshot({ geometry }));
  assert.equal(what.level, "some");
  assert.match(what.text, /PREDICTIONS OLD.*cannot go there/);
  const channels = [{ name: "lead", quality: "bad", cause: "no communication", value: null }];
  assert.match(describeData(snapshot({ geometry, channels, data: "some" })).text, /^LOST: lead/);
  for (const state of ["as laid", "follows"])
    assert.equal(describeData(snapshot({ geometry: { ...geometry, state } })).level, "all", state);
});

// Contrast by the formula of WCAG 2.2 (relative luminance, from memory, not re-read).
function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a, b) {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

test("text stands out from its ground by day and by night, and nothing is green", () => {
  const style = readFileSync(new URL("../../web/style.css", import.meta.url), "utf8");
  for (const [theme, block] of [["day", /:root \{([^}]*)\}/], ["night", /\[data-theme="night"\] \{([^}]*)\}/]]) {
    const colours = Object.fromEntries([...block.exec(style)[1].matchAll(/--([a-z-]+): (#[0-9a-f]{6})/g)].map((m) => [m[1], m[2]]));
    const pairs = [["ink", "paper", 10], ["ink", "ground", 10], ["quiet", "paper", 7], ["quiet", "card", 7], ["on-red", "red", 4.5],
      ["on-amber", "amber", 7], ["link", "paper", 4.5], ["rule", "paper", 3]];
    for (const [a, b, least] of pairs) {
      const got = contrast(colours[a], colours[b]);
      assert.ok(got >= least, `${theme}: ${a} on ${b} is ${got.toFixed(2)}, want ${least}`);
    }
    for (const [name, hex] of Object.entries(colours)) {
      const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
      assert.ok(!(g > r + 30 && g > b + 30), `${theme}: ${name} is green`);
    }
  }
});
