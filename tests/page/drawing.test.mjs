// SPDX-License-Identifier: GPL-3.0-or-later
// Every picture of every rig of the library, measured in a real browser: no two words meet, none leaves
// its picture, and the page asks nothing of anyone else to show them.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";
import { Played, openPage, startBrowser, until } from "./played.mjs";

const { REEVE, RIGS } = process.env;
const LONG = "a name that is as long as a name of a thing in a rig may be 62";
const LONG_NAMES = `rig: long names
points:
  ${LONG}A: {at: [0, 0]}
  ${LONG}B: {at: [0, 0.5], wll: 20 kN}
  ${LONG}C: {at: [30, 0], moves_with: ${LONG}D}
loads: {${LONG}D: {travels: [-1, 0], resists: [40 kN, 48 kN]}}
winches: {${LONG}E: {at: ${LONG}A, rated: 20 kN}}
blocks: {${LONG}F: {at: ${LONG}C, efficiency: [0.90, 0.98], wll: 45 kN}}
lines: {${LONG}G: {path: [${LONG}E, ${LONG}F, ${LONG}B], wll: 24 kN}}
`;
const FAR = `rig: far away
points: {a: {at: [0, 0]}, t: {at: [0, 40]}, b: {at: [580, 0], moves_with: cart}}
loads: {cart: {travels: [-1, 0], resists: 5 kN}}
winches: {drum: {at: a}}
blocks: {k: {at: b, efficiency: 0.95}}
lines: {wire: {path: [drum, k, t]}}
`;
let browser, folder;

before(async () => {
  browser = await startBrowser();
  folder = fs.mkdtempSync(path.join(os.tmpdir(), "reeve-pictures-"));
  for (const file of fs.readdirSync(RIGS).filter((name) => name.endsWith(".yaml")))
    fs.copyFileSync(path.join(RIGS, file), path.join(folder, file));
  fs.writeFileSync(path.join(folder, "long-names.yaml"), LONG_NAMES);
  fs.writeFileSync(path.join(folder, "far.yaml"), FAR);
});
after(async () => {
  await browser.close();
  fs.rmSync(folder, { recursive: true });
});

const rigs = () => fs.readdirSync(folder).filter((name) => name.endsWith(".yaml"));

// Words that meet or lie outside, inside the page.  A line of text is lower than its box by the gap that
// fonts leave above and below their letters.
function faultsIn(selector) {
  const picture = document.querySelector(selector).getBoundingClientRect();
  const texts = [...document.querySelectorAll(`${selector} text`)].filter((e) => e.textContent)
    .map((e) => ({ words: e.textContent, box: e.getBoundingClientRect() }));
  const faults = texts.length < 3 ? ["no words"] : [];
  texts.forEach(({ words, box }, i) => {
    if (box.left < picture.left - 0.5 || box.right > picture.right + 0.5 || box.top < picture.top - 0.5 ||
        box.bottom > picture.bottom + 0.5) faults.push(`outside: ${words}`);
    for (const other of texts.slice(0, i)) {
      const gap = 0.12 * Math.min(box.height, other.box.height);
      if (box.left < other.box.right - 0.5 && other.box.left < box.right - 0.5 && box.top + gap < other.box.bottom - gap &&
          other.box.top + gap < box.bottom - gap) faults.push(`${words} / ${other.words}`);
    }
  });
  return faults;
}

for (const kind of ["svg", "schematic"]) {
  test(`words keep apart in reeve plan --${kind} of every rig`, async () => {
    const page = await (await browser.newContext({ viewport: { width: 1100, height: 800 } })).newPage();
    for (const rig of rigs()) {
      const out = path.join(folder, "picture.svg");
      const done = spawnSync(REEVE, ["plan", path.join(folder, rig), `--${kind}`, out], { encoding: "utf8" });
      assert.equal(done.status, 0, `${rig}: ${done.stderr}`);
      await page.setContent(`<body style="margin:0">${fs.readFileSync(out, "utf8")}</body>`);
      assert.deepEqual(await page.evaluate(faultsIn, "svg"), [], rig);
    }
    await page.context().close();
  });
}

// The name of the rig that lies there now, or undefined: a station whose payout channel names no winch
// takes no rig of two.
async function lay(played, file) {
  const reply = await fetch(`${played.url}api/rig`, { method: "PUT", headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ file }) });
  const told = await reply.json();
  if (told.error?.code === "winch_unsaid") return undefined;
  assert.equal(reply.status, 200, `${file}: ${told.error?.text}`);
  return told.name;
}

test("words keep apart in the page's own diagram of every rig", async (t) => {
  const played = await Played.start(0, "127.0.0.1", "/nonexistent/station.yaml", path.join(folder, "own.yaml"));
  t.after(() => played.stop());
  const page = await openPage(browser, played.url);
  t.after(() => page.context().close());
  let drawn = 0;
  for (const rig of rigs()) {
    const name = await lay(played, rig);
    if (!name) continue;
    await until(`${rig} is drawn`, () => page.evaluate((want) => {
      const words = [...document.querySelectorAll("#drawing .leg-words")];
      return document.getElementById("rig-name").textContent === want && words.length && words.every((e) => e.textContent);
    }, name));
    assert.deepEqual(await page.evaluate(faultsIn, "#drawing svg"), [], rig);
    drawn++;
  }
  assert.ok(drawn >= 20, `${drawn} drawn`);
  assert.deepEqual(page.faults, []);
});

test("the drawing to scale is served under the page's policy and shows as an image", async (t) => {
  const played = await Played.start();
  t.after(() => played.stop());
  const page = await openPage(browser, played.url);
  t.after(() => page.context().close());
  const size = await page.evaluate(async () => {
    const image = new Image();
    image.src = "/api/rig.svg";
    await image.decode();
    return [image.naturalWidth, image.naturalHeight];
  });
  assert.equal(size[0], 1080);
  assert.ok(size[1] > 300);
  assert.deepEqual(page.faults, []);
  const alone = await page.context().newPage();
  const reply = await alone.goto(`${played.url}api/rig.svg`);
  assert.equal(reply.headers()["content-type"], "image/svg+xml");
  assert.deepEqual(await alone.evaluate(faultsIn, "svg"), []);
});
