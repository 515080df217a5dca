// SPDX-License-Identifier: GPL-3.0-or-later
// What the page shows when a cell is lost, for every cell of every rig of the library: never calm where
// there was a number.  The snapshots are the engine's own, told by the program RV_LOST.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { after, before, test } from "node:test";
import { Played, openPage, says, startBrowser } from "./played.mjs";

const GONE = "– –";
let browser, played, page, cases;

before(async () => {
  cases = execFileSync(process.env.RV_LOST, ["--tell"], { maxBuffer: 1 << 28, stdio: ["ignore", "pipe", "ignore"] })
    .toString().trim().split("\n").map((line) => JSON.parse(line));
  browser = await startBrowser();
  played = await Played.start();
  page = await openPage(browser, played.url);
  await says(page, "load-value", "21.3");
});
after(async () => {
  await browser.close();
  await played.stop();
});

// All that is shown for some snapshots of one rig, one after the other, between two frames of the
// played engine.
const show = (ground, snapshots) => page.evaluate(async ([rig, list]) => {
  const [banner, load, cells, drawing, alarms] = await Promise.all(
    ["banner", "load", "cells", "drawing", "alarms"].map((name) => import(`/${name}.js`)));
  const text = (element) => element.textContent.replace(/[\u00a0\u202f]/g, " ");
  const of = (id) => text(document.getElementById(id));
  const all = (pick, then) => [...document.querySelectorAll(pick)].map(then);
  drawing.drawRig(rig);
  return list.map((snapshot) => {
    banner.showBanner(snapshot);
    alarms.showAlarms(snapshot);
    load.showLoad(snapshot);
    load.showGauges(snapshot);
    cells.showCells(snapshot);
    drawing.showParts(snapshot);
    drawing.showDrawing(snapshot, Infinity, true);
    return {
      banner: document.getElementById("banner").dataset.level, word: of("banner-word"),
      strip: document.getElementById("data-strip").dataset.level, data: of("data-text"),
      load: of("load-value"), source: of("load-source"),
      parts: all("#parts tr", (row) => text(row.children[1])),
      cells: all("#cells .cell", (row) => ({
        measured: text(row.querySelector(".measured")), predicted: text(row.querySelector(".predicted")),
        words: text(row.querySelector(".cell-words")) })),
      legs: all("#drawing g.leg", (leg) => ({ load: text(leg.querySelector(".leg-load")), words: text(leg.querySelector(".leg-words")) })),
      alarms: of("alarms"),
    };
  });
}, [ground, snapshots]);

const isNumber = (text) => /\d/.test(text);
// A number of nothing: what a part that was loaded must not turn into.
const isZero = (text) => isNumber(text) && !/[1-9]/.test(text);

function checkPlaces(was, is, where) {
  const before = [was.load, ...was.parts, ...was.legs.map((leg) => leg.load)];
  const now = [is.load, ...is.parts, ...is.legs.map((leg) => leg.load)];
  assert.equal(now.length, before.length, where);
  assert.ok(before.some(isNumber), `${where}: no number to lose`);
  before.forEach((text, i) => {
    if (!isNumber(text) || isZero(text)) return;
    assert.ok(now[i] === GONE || isNumber(now[i]), `${where}: "${text}" became "${now[i]}"`);
    assert.ok(!isZero(now[i]), `${where}: "${text}" became "${now[i]}"`);
  });
}

function checkLost(is, one, snapshot, where) {
  const channel = `read ${one.cell}`;
  assert.equal(is.strip, snapshot.data === "none" ? "none" : "some", where);
  assert.match(is.data, new RegExp(`LOST: .*\\b${channel}\\b`), where);
  assert.notEqual(is.word, "NO ALARM", where);
  if (snapshot.data === "none") assert.ok(["lost", "danger"].includes(is.banner), `${where}: ${is.banner} with nothing live`);
  assert.ok(is.alarms.includes(`${channel} lost`), `${where}: ${is.alarms}`);
  const cell = is.cells[one.cell];
  assert.equal(cell.measured, GONE, where);
  assert.match(cell.words, /^no reading/, where);
  const lost = snapshot.cells[one.cell];
  if (lost.low_n === null) assert.equal(cell.predicted, GONE, where);
  else assert.ok(isNumber(cell.predicted) && !isZero(cell.predicted), `${where}: ${cell.predicted}`);
  for (const leg of is.legs) assert.ok(!leg.words.includes(`measured (${lost.name})`), `${where}: ${leg.words}`);
}

test("every cell of every rig lost under load: its place says lost, the rest has numbers, the strip tells it", async () => {
  assert.ok(new Set(cases.map((one) => one.rig)).size >= 24);
  let ranges = 0;
  for (const one of cases) {
    const where = `${one.rig}, cell ${one.cell}`;
    const [was, is] = await show(one.ground, [one.before, one.after]);
    assert.equal(was.strip, "all", where);
    checkPlaces(was, is, where);
    checkLost(is, one, one.after, where);
    ranges += isNumber(is.cells[one.cell].predicted);
  }
  assert.ok(ranges >= 10, `the rest stood in for ${ranges} cells`);
});

test("a part over its limit stays in the banner whichever cell is lost", async () => {
  let dangers = 0;
  for (const one of cases) {
    const where = `${one.rig}, cell ${one.cell}`;
    const [was, is] = await show(one.ground, [one.danger, one.danger_after]);
    if (was.word !== "OVER LIMIT") continue;
    dangers += 1;
    assert.equal(is.word, "OVER LIMIT", where);
    assert.equal(is.banner, "danger", where);
    checkPlaces(was, is, where);
    checkLost(is, one, one.danger_after, where);
  }
  assert.ok(dangers >= 31, `${dangers} dangers`);
});
