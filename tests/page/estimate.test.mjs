// SPDX-License-Identifier: GPL-3.0-or-later
// The efficiency of a run on the page, over played instruments and the real daemon: too few pulls are
// refused with what would help, and a pull is struck with a reason and counts again.
//
// With RV_SHOTS=FOLDER pictures are put there.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { House } from "./house.mjs";
import { openPage, says, startBrowser, text, until } from "./played.mjs";

const SIZES = [{ width: 390, height: 844 }, { width: 1280, height: 800 }];
const { RV_SHOTS } = process.env;
let browser, house, page;

before(async () => {
  browser = await startBrowser();
  house = await House.open("yard-two-part");
  await until("a pull of run 1 is over", async () => {
    const reply = await fetch(`${house.url}api/runs/1/estimate`);
    return reply.ok && (await reply.json()).pulls.some((pull) => pull.kept && pull.end_s > 0) &&
      (await house.live()).lines[0].motion === "hold";
  }, 90000);
  page = await openPage(browser, house.url);
});
after(async () => {
  await house?.close();
  await browser.close();
});

const pulls = () => page.locator("#estimate .judged");

async function shoot(name) {
  if (!RV_SHOTS) return;
  mkdirSync(RV_SHOTS, { recursive: true });
  for (const size of SIZES) {
    await page.setViewportSize(size);
    await page.locator(".efficiency").scrollIntoViewIfNeeded();
    await page.screenshot({ path: join(RV_SHOTS, `estimate-${name}-${size.width}.png`), fullPage: true });
  }
}

test("what a run cannot tell is refused with what would help", async () => {
  await says(page, "estimate", "or says why the run cannot tell");
  await page.locator("#estimate-button").click();
  await says(page, "estimate", "NO EFFICIENCY");
  await says(page, "estimate", "What would help:");
  await says(page, "estimate", "Run 1, SIMULATED, worked out at");
  assert.equal(await page.locator("#estimate-run").inputValue(), "1");
  await shoot("refused");
});

test("a pull is struck with a reason and counts again", async () => {
  await page.locator("#estimate summary", { hasText: "Pulls (" }).click();
  assert.ok(await pulls().first().getByText("counts", { exact: true }).count());
  await pulls().first().locator("button").click();
  await says(page, "panel", "Strike pull 1 of run 1?");
  await page.locator("#panel input").fill("a branch <b>in</b> the line");
  await page.locator("#panel button", { hasText: "Strike it" }).click();
  await says(page, "panel", "Pull 1 of run 1 is struck: a branch <b>in</b> the line");
  await until("the list says so", async () => (await pulls().first().textContent()).includes("struck: a branch <b>in</b> the line"));
  assert.deepEqual(await house.query("SELECT run, pull, reason FROM strike"), [[1, 1, "a branch <b>in</b> the line"]]);
  await shoot("struck");
  await pulls().first().locator("button").click();
  await says(page, "panel", "count again?");
  await page.locator("#panel button", { hasText: "take the strike back" }).click();
  await until("it counts", async () => (await pulls().first().getByText("counts", { exact: true }).count()) === 1);
  assert.deepEqual(await house.query("SELECT reason FROM strike ORDER BY id"), [["a branch <b>in</b> the line"], [null]]);
});

for (const size of SIZES) {
  test(`everything is in reach at ${size.width} px`, async () => {
    await page.setViewportSize(size);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    assert.ok(wide <= 0, `${wide} px too wide`);
    for (const button of await page.locator(".efficiency button, .efficiency summary, .efficiency input").all()) {
      const { width, height } = await button.boundingBox();
      assert.ok(width >= 60 && height >= 60, `${await button.textContent()}: ${width} x ${height}`);
    }
  });
}

test("mistakes are told", async () => {
  await page.locator("#estimate-run").fill("the first");
  await page.locator("#estimate-button").click();
  await says(page, "estimate", "the number of a run is asked for");
  assert.deepEqual(page.faults, []);
  await page.locator("#estimate-run").fill("77");
  await page.locator("#estimate-run").press("Enter");
  await says(page, "estimate-button", "Work it out");
  await until("the station's word is there", async () => /Not worked out: .*77/.test(await text(page, "estimate")));
});
