// SPDX-License-Identifier: GPL-3.0-or-later
// The Watch view in a real browser over the real web side and a played engine.
import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { Played, openPage, says, startBrowser, startHold, text, until } from "./played.mjs";

const GONE = "– –";
const OVER = "alarm 1 0 1 line over limit|wire carries 36.2 kN, 103 % of its limit|Stop hauling. Hold.";
const LOST = "alarm 0 1 1 dead lost|dead: no communication|Check the cable.";
const PHONE = { width: 390, height: 844 };
const DESK = { width: 1280, height: 800 };
let browser, played, page;

before(async () => { browser = await startBrowser(); });
after(async () => { await browser.close(); });
beforeEach(async () => {
  played = await Played.start();
  page = await openPage(browser, played.url);
  await says(page, "load-value", "21.3");
  await says(page, "drawing", "part 1, lead line, measured (lead)");
});
afterEach(async () => {
  await page.context().close();
  await played.stop();
});

const level = (id = "banner") => page.locator(`#${id}`).getAttribute("data-level");

test("shows what is live, without a fault under its policy and without asking anyone else", async () => {
  await says(page, "banner-word", "NO ALARM");
  await says(page, "data-text", "Live: 3 of 3 channels");
  await says(page, "fact-out", "41.85 m");
  await says(page, "fact-motion", "Hauling in");
  assert.equal((await text(page, "fact-speed")).replace(/\u00a0/g, " "), "0.12 m/s");
  await says(page, "pull-keeps", "94.6 %");
  await says(page, "weakest", "eye shackle");
  await says(page, "not-rated", "deck, eye");
  await until("the chart is drawn", () => page.locator("#strip canvas").count());
  assert.deepEqual(page.faults, []);
  for (const url of page.asked) assert.ok(url.startsWith(played.url) || url.startsWith("data:"), url);
});

test("measured and predicted are told apart in words and in looks", async () => {
  const leg = page.locator("#drawing g.leg").first();
  const solid = await leg.locator(".body").evaluate((line) => getComputedStyle(line).stroke);
  played.play("lose 0", "set data 1");
  await until("the leg is predicted", async () => (await leg.textContent()).includes("part 1, lead line, predicted"));
  assert.notEqual(await leg.locator(".body").evaluate((line) => getComputedStyle(line).stroke), solid);
  await says(page, "load-source", "predicted, no reading");
  await until("a range stands there", async () => /\d–\d/.test(await text(page, "load-value")));
  assert.equal(await page.locator("#load-value").evaluate((e) => getComputedStyle(e).fontStyle), "italic");
});

for (const size of [PHONE, DESK]) {
  test(`nothing moves when the state changes (${size.width} px)`, async () => {
    await page.setViewportSize(size);
    const places = () => page.evaluate(() => ["banner", "data-strip", "load-value", "gauge-line", "fact-out", "drawing",
      "strip", "run-button"].map((id) => { const r = document.getElementById(id).getBoundingClientRect();
      return [id, Math.round(r.top), Math.round(r.height)]; }));
    const calm = await places();
    const steps = [["set state 1", "alarm 0 0 1 line near limit|wire carries a lot|Slow down."], ["set state 2", OVER],
      ["lose 1", "set data 1", LOST], ["lose 0"]];
    for (const step of steps) {
      played.play(...step);
      await new Promise((resolve) => setTimeout(resolve, 400));
      assert.deepEqual(await places(), calm);
    }
    played.signal("SIGSTOP");
    await says(page, "load-value", GONE);
    assert.deepEqual(await places(), calm);
    played.signal("SIGCONT");
  });
}

test("each state has its own word, bars and pattern", async () => {
  const looks = async () => page.evaluate(() => [document.getElementById("banner").dataset.bars,
    document.getElementById("banner-word").textContent]);
  played.play("set state 1", "alarm 0 0 1 line near limit|wire carries 30 kN, 86 % of its limit|Slow down.");
  await says(page, "banner-word", "NEAR LIMIT");
  assert.deepEqual(await looks(), ["1", "NEAR LIMIT"]);
  played.play("set state 2", OVER);
  await says(page, "banner-word", "OVER LIMIT");
  assert.deepEqual(await looks(), ["3", "OVER LIMIT"]);
  await says(page, "banner-do", "Stop hauling. Hold.");
  played.play("calm", "lose 0", "lose 1", "lose 2", "set data 2", "set state 2");
  await says(page, "banner-word", "NO READINGS");
  assert.deepEqual(await looks(), ["2", "NO READINGS"]);
  assert.equal(await text(page, "load-value"), GONE);
});

test("a lost cell leaves the overload in the banner and has a strip of its own", async () => {
  played.play("set lead 36200", "set state 2", OVER);
  await says(page, "banner-word", "OVER LIMIT");
  played.play("lose 1", "set data 1", LOST);
  await says(page, "data-text", "LOST: dead (no communication)");
  assert.equal(await text(page, "banner-word"), "OVER LIMIT");
  assert.equal(await level(), "danger");
  assert.equal(await level("data-strip"), "some");
  const cell = page.locator(".cell", { hasText: "dead" });
  assert.equal(await cell.locator(".measured").textContent(), GONE);
  assert.match(await cell.locator(".predicted").textContent(), /\d+\.\d–\d+\.\d/);
});

test("an overload that comes after the loss takes the banner from it", async () => {
  played.play("lose 1", "set data 1", "set state 2", "alarm 1 1 1 dead lost|dead: nothing guards the anchor|Stop.");
  await says(page, "banner-word", "READING LOST");
  played.play("set lead 36200", OVER);
  await says(page, "banner-word", "OVER LIMIT");
  assert.equal(await level("data-strip"), "some");
});

test("a state that no alarm in the list explains is shown all the same", async () => {
  played.play("set state 2");
  await says(page, "banner-word", "DANGER");
});

test("every number is blank within 1 s of the last frame, timed inside the page", async () => {
  for (let round = 0; round < 3; round++) {
    await says(page, "load-value", "21.3");
    await page.evaluate(() => { window.seen.numbers = []; });
    played.signal("SIGSTOP");
    await says(page, "load-value", GONE);
    const [blank, frame] = await page.evaluate(() => [window.seen.numbers.find(([, text]) => text === "– –")[0],
      window.seen.frame]);
    assert.ok(blank - frame < 1000, `blank ${blank - frame} ms after the last frame`);
    assert.ok(blank - frame > 300, "not sooner than the threshold allows");
    const left = await page.evaluate(() => [...document.querySelectorAll(".value, dd, #drawing .leg-load")]
      .map((e) => e.textContent).filter((t) => /\d/.test(t)));
    assert.deepEqual(left, []);
    await says(page, "banner-cause", "Last winch line: 21.3 kN");
    played.signal("SIGCONT");
  }
});

test("a danger before the silence is still said during it", async () => {
  played.play("set lead 36200", "set state 2", OVER);
  await says(page, "banner-word", "OVER LIMIT");
  played.signal("SIGSTOP");
  await says(page, "banner-word", "OVER LIMIT · NOW BLIND");
  await says(page, "banner-do", "Stop hauling. Hold.");
  played.signal("SIGCONT");
  await until("back", async () => (await text(page, "banner-word")) === "OVER LIMIT");
});

test("a station that answers but measures nothing is told from a lost link", async () => {
  played.play("silent 1");
  await says(page, "load-value", GONE);
  await new Promise((resolve) => setTimeout(resolve, 1500));
  assert.equal(await text(page, "banner-word"), "NO READINGS");
  played.play("silent 0");
  await says(page, "load-value", "21.3");
  played.signal("SIGSTOP");
  await says(page, "banner-word", "NO CONNECTION");
  played.signal("SIGCONT");
});

test("a flood of old frames after a hold-up does not look live", async () => {
  const wire = await startHold(played.port);
  const held = await openPage(browser, wire.url);
  try {
    await says(held, "load-value", "21.3");
    wire.hold();
    await says(held, "load-value", GONE);
    await new Promise((resolve) => setTimeout(resolve, 2500));
    await held.evaluate(() => { window.seen.numbers = []; });
    played.play("set lead 25000");
    await new Promise((resolve) => setTimeout(resolve, 700));
    wire.release();
    await says(held, "load-value", "25.0");
    const shown = await held.evaluate(() => window.seen.numbers.map(([, number]) => number));
    assert.deepEqual(shown.filter((number) => number === "21.3"), []);
  } finally {
    await held.context().close();
    wire.stop();
  }
});

test("after a restart of the station the page is live again by itself", async () => {
  const { port } = played;
  await played.stop();
  await says(page, "banner-word", "NO CONNECTION");
  played = await Played.start(port);
  played.play("set lead 19000");
  await until("live again", async () => (await text(page, "load-value")) === "19.0", 8000);
});

test("a page that was turned away comes in as soon as there is room", async () => {
  const many = [];
  const stop = new AbortController();
  for (let i = 0; i < 40; i++)
    many.push(fetch(`${played.url}api/stream`, { signal: stop.signal }).catch(() => null));
  const answers = await Promise.all(many);
  assert.ok(answers.some((answer) => answer.status === 503));
  const late = await openPage(browser, played.url);
  await new Promise((resolve) => setTimeout(resolve, 1200));
  assert.equal(await text(late, "load-value"), GONE);
  stop.abort();
  await until("let in", async () => (await text(late, "load-value")) === "21.3", 8000);
  await late.context().close();
});

test("Seen in the banner and in the list acknowledges that alarm", async () => {
  played.play("set state 2", OVER, "alarm 0 0 1 50 %/a b?|a name with odd letters|Look.");
  await says(page, "banner-word", "OVER LIMIT");
  await page.locator("#banner-seen").click();
  await until("told", () => played.wishes.includes("acknowledge line over limit"));
  await until("button gone", () => page.locator("#banner-seen").isHidden());
  assert.equal(await text(page, "banner-word"), "OVER LIMIT");
  await page.locator(".alarm", { hasText: "odd letters" }).getByRole("button").click();
  await until("told", () => played.wishes.includes("acknowledge 50 %/a b?"));
});

test("a run is started with a name, marked, and stopped with a second press", async () => {
  await page.locator("#run-button").click();
  await page.locator("#panel input").fill("wet rope");
  await page.getByRole("button", { name: "Start now" }).click();
  await until("told", () => played.wishes.includes("start wet rope"));
  await says(page, "run-name", "Run 1: wet rope");
  await page.locator("#mark-button").click();
  await page.getByRole("button", { name: "Load moves" }).click();
  await until("told", () => played.wishes.some((wish) => wish.startsWith("mark Load moves|nan|")));
  await page.locator("#mark-button").click();
  await page.getByLabel("Own words").fill("first bight over");
  await page.getByLabel("Load has moved").fill("1,5");
  await page.getByRole("button", { name: "Mark", exact: true }).first().click();
  await until("told", () => played.wishes.some((wish) => wish.startsWith("mark first bight over|1.5|")));
  await page.locator("#run-button").click();
  await new Promise((resolve) => setTimeout(resolve, 300));
  assert.ok(!played.wishes.some((wish) => wish.startsWith("stop")));
  await page.getByRole("button", { name: "Yes, stop" }).click();
  await until("told", () => played.wishes.includes("stop 1"));
  await says(page, "run-button", "Start run");
  assert.deepEqual(page.faults, []);
});

test("of two people the second is told that it has changed", async () => {
  const other = await openPage(browser, played.url);
  await says(other, "load-value", "21.3");
  await other.locator("#run-button").click();
  await page.locator("#run-button").click();
  await page.getByRole("button", { name: "Start now" }).click();
  await says(page, "run-name", "Run 1");
  await says(other, "run-name", "Run 1");
  const reply = await other.evaluate(() => fetch("/api/runs", { method: "POST", headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ seen: { run: 0 } }) }).then((answer) => answer.status));
  assert.equal(reply, 409);
  await other.context().close();
});

test("names are shown as text, whatever they hold", async () => {
  played.play("set state 1", "alarm 0 0 1 <img src=x onerror=alert(1)>|<b>bold</b> text|<script>1</script>");
  await says(page, "alarms", "<b>bold</b>");
  assert.equal(await page.locator("#alarms img, #alarms b, #alarms script, #banner b").count(), 0);
  assert.deepEqual(page.faults, []);
});

test("SIMULATED stands at the top while the instruments are played", async () => {
  assert.ok(await page.locator("#simulated").isHidden());
  played.play("set simulated 1");
  await until("sign", () => page.locator("#simulated").isVisible());
});

for (const width of [320, 390, 1280]) {
  test(`nothing is cut off sideways and buttons fit a gloved thumb (${width} px)`, async () => {
    await page.setViewportSize({ width, height: 844 });
    played.play("set state 2", OVER, LOST, "set simulated 1");
    await says(page, "banner-word", "OVER LIMIT");
    for (const fold of await page.locator("summary").all()) await fold.click();
    const [inner, outer] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    assert.ok(inner <= outer, `${inner} > ${outer}`);
    await page.locator("#mark-button").click();
    const small = await page.evaluate(() => [...document.querySelectorAll("button, summary, input")]
      .filter((e) => e.offsetParent !== null || getComputedStyle(e).position === "fixed")
      .map((e) => [e.textContent, e.getBoundingClientRect()])
      .filter(([, r]) => r.width < 60 || r.height < 60).map(([t]) => t));
    assert.deepEqual(small, []);
  });
}

test("day is the theme to begin with; the switch is kept", async () => {
  const theme = () => page.evaluate(() => document.documentElement.dataset.theme);
  assert.equal(await theme(), "day");
  await page.locator("#theme").click();
  assert.equal(await theme(), "night");
  await page.reload();
  assert.equal(await theme(), "night");
});
