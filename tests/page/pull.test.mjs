// SPDX-License-Identifier: GPL-3.0-or-later
// The real thing end to end: played instruments on real wires, the real daemon, the real page in a
// real browser, the record read by the tools.  Times that matter are taken inside the page.
//
// With RV_SHOTS=FOLDER pictures of the page in its states are put there.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { forceIn, forceNumber } from "../../web/units.js";
import { House } from "./house.mjs";
import { openPage, says, startBrowser, startHold, text, until } from "./played.mjs";

const SIZES = [{ width: 390, height: 844 }, { width: 1280, height: 800 }];
const { RV_SHOTS } = process.env;
const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
let browser, house, page;

before(async () => { browser = await startBrowser(); });
after(async () => {
  await house?.close();
  await browser.close();
});

// Notes inside the page, from now on: which elements hold live numbers, when the last of these was
// blanked and when the last frame before that came, how late the page's own timers run (a starved
// browser), and what the page showed for each frame.
function watchNumbers() {
  const watch = window.watch = { frames: new Map(), shown: [], blanks: [], late: [], left: [],
    number: document.getElementById("load-value").textContent };
  const numbers = new Set();
  // What does not come from instruments: limits of parts, names of runs and of parts of line.
  const outside = (element) => !element.closest("main, .foot") || element.closest("#alarms, .panel") ||
    element.matches("#gauge-line-name, #gauge-part-name, .leg-words, #run-name, #weakest, #not-rated");
  const hasDigit = (element) => element.isConnected && /\d/.test(element.textContent);
  const isLive = () => document.body.dataset.live === "yes";
  let blank = !isLive();
  new MutationObserver((changes) => {
    const now = performance.now();
    for (const { target } of changes) {
      const element = target.nodeType === Node.TEXT_NODE ? target.parentElement : target;
      if (element && isLive() && element.children.length === 0 && !outside(element) && hasDigit(element)) numbers.add(element);
    }
    if (isLive()) {
      const number = document.getElementById("load-value").textContent;
      if (number !== watch.number) watch.shown.push({ at: now, mono_s: watch.mono_s, number });
      watch.number = number;
    }
    watch.left = [...numbers].filter(hasDigit).map((element) => `${element.id || element.className}: ${element.textContent}`);
    if (!blank && !isLive() && watch.left.length === 0)
      watch.blanks.push({ blank: now, frame: window.seen.frame, numbers: numbers.size });
    blank = !isLive() && watch.left.length === 0;
  }).observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true,
    attributeFilter: ["data-live"] });
  let due = performance.now() + 20;
  setInterval(() => {
    const now = performance.now();
    watch.late.push([now, now - due]);
    due = now + 20;
  }, 20);
}

// Notes each frame's clock and force before the page shows it, and what the page made of it after.
function noteFrames() {
  const listen = EventSource.prototype.addEventListener;
  EventSource.prototype.addEventListener = function (type, act, ...more) {
    if (type !== "live") return listen.call(this, type, act, ...more);
    return listen.call(this, type, (event) => {
      const { watch } = window;
      const { mono_s, state, legs: [lead] } = JSON.parse(event.data);
      if (watch) watch.mono_s = mono_s;
      act.call(this, event);
      if (watch && document.body.dataset.live === "yes")
        watch.frames.set(mono_s, { load_n: lead?.source === "measured" ? lead.load_n : null, state, width: document.querySelector("#gauge-line .fill").style.width,
          word: document.getElementById("banner-word").textContent,
          strip: document.getElementById("data-strip").dataset.level });
    }, ...more);
  };
}

async function openWatched(url) {
  const opened = await openPage(browser, url, { inside: noteFrames });
  await until("live", () => isLive(opened), 20000);
  await opened.evaluate(watchNumbers);
  return opened;
}

const isLive = (one) => one.evaluate(() => document.body.dataset.live === "yes");
const watched = (one) => one.evaluate(() => ({ ...window.watch, frames: [...window.watch.frames] }));
const plain = (words) => words.replace(/[\u00a0\u202f]/g, " ");

async function shoot(name) {
  if (!RV_SHOTS) return;
  mkdirSync(RV_SHOTS, { recursive: true });
  for (const size of SIZES) {
    await page.setViewportSize(size);
    await pause(250);
    await page.screenshot({ path: join(RV_SHOTS, `${name}-${size.width}.png`) });
  }
  await page.setViewportSize(SIZES[0]);
  await page.screenshot({ path: join(RV_SHOTS, `${name}-whole.png`), fullPage: true });
}

// The page goes blank; how long after the last frame by the page's own clock, and how much of that
// the browser itself was held up.
async function blanking(what) {
  await until(`blank after ${what}`, () => page.evaluate(() => window.watch.blanks.length > 0), 5000)
    .catch(async (error) => { throw new Error(`${error.message}; left: ${await page.evaluate(() => window.watch.left.join("; "))}`); });
  const { blanks: [{ blank, frame, numbers }], late } = await watched(page);
  const held = late.filter(([at]) => at > frame && at < blank + 100).reduce((most, [, by]) => Math.max(most, by), 0);
  return { ms: blank - frame, held, numbers };
}

const forgetBlanks = () => page.evaluate(() => { window.watch.blanks = []; window.watch.late = []; });

// Digits shown are those of the frame they were painted for; how many were compared.
function compareDigits(shown, frames) {
  const known = shown.filter(({ mono_s }) => typeof frames.get(mono_s)?.load_n === "number");
  for (const { number, mono_s } of known) assert.equal(number, forceNumber(frames.get(mono_s).load_n, "kN"));
  return known.length;
}

test("numbers move on the page while the instruments play", async (t) => {
  house = await House.open("yard-two-part");
  page = await openWatched(house.url);
  await until("numbers move", async () => (await watched(page)).shown.length >= 8, 40000);
  const { shown, frames } = await watched(page);
  compareDigits(shown, new Map(frames));
  assert.ok(await page.locator("#simulated").isVisible());
  await until("line out moves", async () => {
    const before = await text(page, "fact-out");
    await pause(400);
    return /\d m/.test(plain(before)) && before !== await text(page, "fact-out");
  }, 40000);
  assert.equal(await text(page, "banner-word"), "NO ALARM");
  await shoot("normal");
  t.diagnostic(`${frames.length} frames, ${shown.length} numbers`);
});

async function stopRun() {
  await page.locator("#run-button").click();
  await page.getByRole("button", { name: /^Yes, stop/ }).click();
  await says(page, "run-button", "Start run");
}

test("a run started, marked and stopped on the page is what the tools read from the record", async (t) => {
  // Load on the line has opened a run by itself: it makes way for ours.
  await says(page, "run-button", "Stop run");
  await stopRun();
  await page.locator("#run-button").click();
  await page.locator("#panel input").fill("first pull, dry rope");
  await page.getByRole("button", { name: "Start now" }).click();
  await until("the run's name", async () => (await text(page, "run-name")).includes("first pull, dry rope"), 10000);
  const number = Number(/Run (\d+)/.exec(await text(page, "run-name"))[1]);
  await page.locator("#mark-button").click();
  await page.getByLabel("Own words").fill("sledge at the post");
  await page.getByLabel("Load has moved").fill("1,5");
  await page.getByRole("button", { name: "Mark", exact: true }).first().click();
  await until("said", async () => (await text(page, "panel")).includes("Marked: sledge at the post"), 10000);
  // While the line is held after a haul the peak lies behind, so that it cannot rise between a look
  // at the page and the stop.
  await until("hauling", async () => await text(page, "fact-motion") === "Hauling in", 60000);
  await until("held", async () => await text(page, "fact-motion") === "Holding", 60000);
  await pause(500);
  const peak = plain(await text(page, "fact-peak"));
  await stopRun();

  const shown = JSON.parse(await house.reeve("show", `${house.record}:${number}`, "--json"));
  assert.equal(shown.name, "first pull, dry rope");
  assert.equal(shown.how, "by hand");
  assert.equal(shown.simulated, true);
  assert.deepEqual(shown.marks.map(({ text: words, travel_m }) => [words, travel_m]), [["sledge at the post", 1.5]]);
  const lead = shown.channels.find((channel) => channel.name === "lead");
  assert.equal(peak, `${forceNumber(lead.high, "kN")} kN`, "the page's peak of the winch line");
  const [[most]] = await house.query("SELECT max(value) FROM reading WHERE run = ? AND unit = 'N'", number);
  assert.equal(shown.peak.value, most);
  assert.ok(forceIn(shown.peak.value, "kN") >= forceIn(lead.high, "kN"));
  t.diagnostic(`run ${number}: ${shown.readings} readings, peak ${peak}`);
  await exportEqualsRecord(number, t);
});

async function exportEqualsRecord(number, t) {
  await house.reeve("export", `${house.record}:${number}`, "--to", "out");
  const files = readdirSync(join(house.folder, "out")).filter((name) => name.endsWith(".csv"));
  assert.equal(files.length, 1);
  const [[from_us]] = await house.query("SELECT from_us FROM run WHERE id = ?", number);
  const rows = await house.query("SELECT t_us, channel, unit, value FROM reading WHERE run = ?", number);
  const want = new Map(rows.map(([t_us, channel, unit, value]) =>
    [`${t_us} ${channel.replaceAll(" ", "_")}${{ N: "_n", m: "_m" }[unit]}`, value]));
  const [head, ...lines] = readFileSync(join(house.folder, "out", files[0]), "utf8").trimEnd().split("\r\n");
  const columns = head.split(",");
  assert.deepEqual(columns.slice(0, 2), ["time_s", "time_utc"]);
  const got = new Map();
  for (const line of lines) {
    const cells = line.split(",");
    assert.equal(cells.length, columns.length, line);
    const [whole, part] = cells[0].split(".");
    assert.equal(part.length, 6, line);
    const t_us = from_us + Number(whole) * 1e6 + Number(part);
    for (let i = 2; i < cells.length; i++)
      if (cells[i] !== "") got.set(`${t_us} ${columns[i].replaceAll(" ", "_")}`, Number(cells[i]));
  }
  assert.ok(want.size > 300, `${want.size} readings`);
  assert.equal(got.size, want.size);
  for (const [key, value] of want) assert.equal(got.get(key), value, key);
  t.diagnostic(`${got.size} values of the file equal the record's`);
}

test("two pages open at once agree, frame by frame", async (t) => {
  const other = await openWatched(house.url);
  try {
    await until("many frames", async () => (await watched(other)).frames.length > 60, 30000);
    const [one, two] = [await watched(page), await watched(other)];
    const first = new Map(one.frames);
    const common = two.frames.filter(([mono_s]) => first.has(mono_s));
    for (const [mono_s, { width, word, strip }] of common) {
      const seen = first.get(mono_s);
      assert.deepEqual([seen.width, seen.word, seen.strip], [width, word, strip]);
    }
    assert.ok(common.length >= 20, `${common.length} frames in common`);
    // Digits are painted at five a second, not for the same frames on both pages.
    const digits = compareDigits(two.shown, first);
    assert.ok(digits >= 1);
    assert.equal(await text(page, "run-button"), await text(other, "run-button"));
    t.diagnostic(`${common.length} frames and ${digits} numbers compared`);
  } finally {
    await other.context().close();
  }
});

test("a daemon that stands still blanks every number within 1 s; then it is live again", async (t) => {
  const figures = [], stillWords = [];
  for (let round = 0; round < 5; round++) {
    await until("live", () => isLive(page), 10000);
    await pause(1200); // so that every number was painted at least once
    await forgetBlanks();
    house.daemon.kill("SIGSTOP");
    let found;
    try {
      found = await blanking("SIGSTOP");
      stillWords.push(await text(page, "fact-motion"), await text(page, "pull-motion"));
    } finally {
      house.daemon.kill("SIGCONT");
    }
    const { ms, held, numbers } = found;
    figures.push(`${ms.toFixed(0)} ms (browser held up ${held.toFixed(0)} ms)`);
    assert.ok(numbers >= 12, `only ${numbers} numbers were watched`);
    assert.ok(ms - held < 1000, `blank ${ms} ms after the last frame, of which the browser was held up ${held} ms`);
  }
  for (const words of stillWords) assert.doesNotMatch(words, /Hauling|Paying|Holding/);
  await until("live again", () => isLive(page), 10000);
  await until("a number again", async () => /^\d/.test(await text(page, "load-value")), 10000);
  t.diagnostic(`blank after ${figures.join(", ")}`);
});

// While nothing is live the banner keeps a danger of the last frame; without one it names the link.
async function sayNotLive() {
  const { frames } = await watched(page);
  const { state, word } = frames.at(-1)[1];
  await says(page, "banner-word", state === "danger" ? `${word} · NOW BLIND` : "NO CONNECTION");
  return state;
}

test("an overload is in the banner; Seen on the page is in the record's journal; blind, the danger is kept", async (t) => {
  await until("over the limit", async () => (await text(page, "banner-word")) === "OVER LIMIT", 130000);
  await shoot("over-limit");
  // The words of an alarm go on changing with the load; its button stays the same one.
  const button = await page.locator(".alarm", { hasText: "line over limit" }).getByRole("button").elementHandle();
  await pause(400);
  assert.ok(await button.evaluate((element) => element.isConnected));
  await page.locator("#banner-seen").click();
  await until("nothing left to see", () => page.locator("#banner-seen").isHidden(), 10000);
  house.daemon.kill("SIGSTOP");
  let state;
  try {
    await until("not live", async () => !await isLive(page), 5000);
    state = await sayNotLive();
    await shoot("stale");
  } finally {
    house.daemon.kill("SIGCONT");
  }
  const journal = () => house.query("SELECT state, level, by_whom FROM alarm_event WHERE alarm = 'line over limit' ORDER BY id");
  await until("in the journal", async () => (await journal()).some(([how]) => how === "acknowledged"), 10000);
  const events = await journal();
  assert.deepEqual(events.find(([how]) => how === "unacknowledged").slice(0, 2), ["unacknowledged", "danger"]);
  assert.deepEqual(page.faults.filter((fault) => !fault.startsWith("Failed to load resource")), []);
  t.diagnostic(`last state before it stood still: ${state}; journal: ${JSON.stringify(events)}`);
});

// Brings old readings in bursts, a second and more apart: what the page shows must still be young.
test("over a wire that brings a second's frames in one burst no number older than 1 s is shown", async (t) => {
  // The truth about the station's clock, by a short way round: the least of several.
  let offset = Infinity;
  for (let i = 0; i < 20; i++) {
    const { mono_s } = await house.live();
    offset = Math.min(offset, Date.now() / 1000 - mono_s);
    await pause(10);
  }
  const wire = await startHold(house.port);
  const far = await openWatched(wire.url);
  try {
    await pause(1000);
    await far.evaluate(() => { window.watch.shown = []; window.watch.frames.clear(); });
    for (let burst = 0; burst < 5; burst++) {
      wire.hold();
      await pause(1100 + burst * 150);
      wire.release();
      await pause(60);
    }
    const { shown, frames } = await watched(far);
    const origin = await far.evaluate(() => performance.timeOrigin);
    const ages = shown.filter(({ number }) => /\d/.test(number)).map(({ at, mono_s }) => (origin + at) / 1000 - offset - mono_s);
    // How many come is a matter of how busy the machine is; some must, or nothing was tried.
    assert.ok(frames.length > 10, `${frames.length} frames came`);
    assert.ok(ages.length >= 1, `${ages.length} numbers were shown`);
    // A frame's own reading may be as old as the page's period when it is sent.
    assert.ok(Math.max(...ages) < 1, `a number was shown ${Math.max(...ages).toFixed(2)} s old`);
    t.diagnostic(`${frames.length} frames, ${ages.length} numbers, the oldest ${Math.max(...ages).toFixed(2)} s`);
  } finally {
    await far.context().close();
    wire.stop();
  }
});

test("over a wire that brings everything 1.2 s late nothing is shown, and the page says why", async () => {
  const wire = await startHold(house.port, 1200);
  const far = await openPage(browser, wire.url);
  try {
    await says(far, "banner-word", "READINGS TOO LATE");
    await pause(2500);
    assert.deepEqual((await far.evaluate(() => window.seen.numbers)).filter(([, number]) => /\d/.test(number)), []);
    assert.equal(await text(far, "load-value"), "– –");
  } finally {
    await far.context().close();
    wire.stop();
  }
});

test("after kill -9 and a new start of the daemon the page comes back by itself", async (t) => {
  await page.evaluate(() => { window.stayed = true; });
  await pause(1200);
  await forgetBlanks();
  const { start } = await house.live();
  assert.equal(await house.endDaemon("SIGKILL"), "SIGKILL");
  const { ms, held } = await blanking("kill -9");
  assert.ok(ms - held < 1000, `blank ${ms} ms after the last frame`);
  await sayNotLive();
  await pause(1500);
  await page.evaluate(() => { window.watch.frames.clear(); window.watch.shown = []; });
  await house.startDaemon();
  const begun = Date.now();
  await until("live again", () => isLive(page), 20000);
  const back = Date.now() - begun;
  await until("numbers", async () => (await watched(page)).shown.some(({ number }) => /\d/.test(number)), 20000);
  assert.equal(await page.evaluate(() => window.stayed), true, "without a reload");
  assert.notEqual((await house.live()).start, start);
  await until("the line drawn again", () => page.locator("#drawing g.leg").count(), 10000);
  t.diagnostic(`blank ${ms.toFixed(0)} ms after the last frame, live again ${back} ms after the daemon was there`);
});

test("with one cell dead and another over its limit both are said, and the dead cell's place shows a range", async (t) => {
  await page.context().close();
  await house.close();
  house = await House.open("dead-cell-with-overload");
  page = await openWatched(house.url);
  await until("lost", async () => (await text(page, "data-text")).includes("LOST: lead (frozen)"), 60000);
  await until("over the limit", async () => (await text(page, "banner-word")) === "OVER LIMIT", 60000);
  assert.ok((await text(page, "data-text")).includes("LOST: lead (frozen)"));
  const cell = page.locator(".cell", { has: page.locator(".cell-name", { hasText: /^lead$/ }) });
  const [measured, predicted] = await cell.evaluate((e) => [".measured", ".predicted"].map((part) => e.querySelector(part).textContent));
  assert.equal(measured, "– –");
  assert.match(plain(predicted), /^\d+\.\d–\d+\.\d kN$/);
  await shoot("over-limit-dead-cell");
  await page.locator("#banner-seen").click();
  await until("over", async () => (await text(page, "banner-word")) !== "OVER LIMIT", 60000);
  const { frames } = await watched(page);
  const dangers = frames.filter(([, { state }]) => state === "danger");
  assert.ok(dangers.length > 20, `${dangers.length} frames of danger`);
  for (const [, { word, strip }] of dangers) assert.deepEqual([word, strip], ["OVER LIMIT", "some"]);
  assert.deepEqual(page.faults.filter((fault) => !fault.startsWith("Failed to load resource")), []);
  t.diagnostic(`${dangers.length} frames of danger, shown as ${plain(predicted)}`);
});
