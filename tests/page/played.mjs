// SPDX-License-Identifier: GPL-3.0-or-later
// Starts the played server and a browser for the tests of the page.
import { spawn } from "node:child_process";
import net from "node:net";
import { chromium } from "../../web/node_modules/playwright-core/index.mjs";

const SERVER = process.env.PLAYED_SERVER;

export class Played {
  static async start(port = 0, ...more) {
    const played = new Played();
    played.wishes = [];
    played.child = spawn(SERVER, [String(port), ...more], { stdio: ["pipe", "pipe", "inherit"] });
    let text = "";
    played.port = await new Promise((resolve, reject) => {
      played.child.on("exit", () => reject(new Error("the played server ended")));
      played.child.stdout.on("data", (bytes) => {
        text += bytes;
        const lines = text.split("\n");
        text = lines.pop();
        for (const line of lines) {
          if (line.startsWith("port ")) resolve(Number(line.slice(5)));
          if (line.startsWith("wish ")) played.wishes.push(line.slice(5));
        }
      });
    });
    played.url = `http://127.0.0.1:${played.port}/`;
    return played;
  }

  play(...commands) {
    for (const command of commands) this.child.stdin.write(`${command}\n`);
  }

  signal(name) {
    this.child.kill(name);
  }

  // Lets the server end by itself; gives its exit code.
  async end() {
    const ended = new Promise((resolve) => this.child.on("exit", resolve));
    this.child.stdin.end();
    return ended;
  }

  async stop() {
    if (this.child.signalCode !== null) throw new Error(`the played server died of ${this.child.signalCode}`);
    if (this.child.exitCode !== null) return;
    const ended = new Promise((resolve) => this.child.on("exit", resolve));
    this.child.kill("SIGKILL");
    await ended;
  }
}

export function startBrowser() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
  });
}

// Notes, inside the page, when frames arrive, what the big number said and when, and whether live.
function watchInside() {
  window.seen = { frame: 0, numbers: [], live: [] };
  const listen = EventSource.prototype.addEventListener;
  EventSource.prototype.addEventListener = function (type, act, ...more) {
    if (type === "live") listen.call(this, type, () => { window.seen.frame = performance.now(); });
    return listen.call(this, type, act, ...more);
  };
  addEventListener("DOMContentLoaded", () => {
    const number = document.getElementById("load-value");
    new MutationObserver(() => window.seen.numbers.push([performance.now(), number.textContent]))
      .observe(number, { childList: true, characterData: true, subtree: true });
    new MutationObserver(() => window.seen.live.push([performance.now(), document.body.dataset.live]))
      .observe(document.body, { attributeFilter: ["data-live"] });
  });
}

// A page on that address; its faults and what it asked for are kept.  inside: run in it before its own.
export async function openPage(browser, url, { size = { width: 390, height: 844 }, inside } = {}) {
  const context = await browser.newContext({ viewport: size });
  const page = await context.newPage();
  page.faults = [];
  page.asked = [];
  page.on("console", (message) => { if (message.type() === "error") page.faults.push(message.text()); });
  page.on("pageerror", (error) => page.faults.push(error.message));
  page.on("request", (request) => page.asked.push(request.url()));
  await page.addInitScript(watchInside);
  if (inside) await page.addInitScript(inside);
  await page.goto(url);
  return page;
}

export const text = (page, id) => page.locator(`#${id}`).textContent();

export async function until(what, condition, ms = 5000) {
  const end = Date.now() + ms;
  for (;;) {
    if (await condition()) return;
    if (Date.now() > end) throw new Error(`waited ${ms} ms in vain: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 40));
  }
}

export const says = (page, id, want) =>
  until(`#${id} says ${want}`, async () => (await text(page, id)).replace(/\u00a0/g, " ").includes(want));

// A wire that brings everything late_ms later, or holds everything back and lets it go at once.  The Host in requests is rewritten so
// that the station sees its own.
export async function startHold(port, late_ms = 0) {
  const pairs = new Set();
  let holding = false;
  const server = net.createServer((near) => {
    const far = net.connect(port, "127.0.0.1");
    const pair = { near, far, kept: [] };
    pairs.add(pair);
    near.on("data", (bytes) => far.write(bytes.toString("latin1").replaceAll(`127.0.0.1:${server.address().port}`,
      `127.0.0.1:${port}`), "latin1"));
    far.on("data", (bytes) => { if (holding) pair.kept.push(bytes); else if (late_ms) setTimeout(() => near.write(bytes), late_ms); else near.write(bytes); });
    for (const [one, other] of [[near, far], [far, near]]) {
      one.on("error", () => other.destroy());
      one.on("close", () => { other.destroy(); pairs.delete(pair); });
    }
  });
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  return {
    url: `http://127.0.0.1:${server.address().port}/`,
    hold() { holding = true; },
    release() {
      holding = false;
      for (const pair of pairs) for (const bytes of pair.kept.splice(0)) pair.near.write(bytes);
    },
    stop() {
      server.close();
      for (const pair of pairs) pair.near.destroy();
    },
  };
}
