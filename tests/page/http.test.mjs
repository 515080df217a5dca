// SPDX-License-Identifier: GPL-3.0-or-later
// The web side against those who should not get in, and those who are slow: over bare sockets.
import assert from "node:assert/strict";
import net from "node:net";
import { after, before, test } from "node:test";
import { Played, until } from "./played.mjs";

let played;
before(async () => { played = await Played.start(); });
after(() => played.stop());

// Sends the bytes as they are; gives the reply's status, head and body.
function raw(bytes, { ms = 8000 } = {}) {
  return new Promise((resolve, reject) => {
    const socket = net.connect(played.port, "127.0.0.1", () => socket.write(bytes));
    let text = "";
    const timer = setTimeout(() => socket.destroy(), ms);
    socket.on("data", (more) => {
      text += more.toString("latin1");
      const [head, body] = text.split("\r\n\r\n", 2);
      const length = /content-length: (\d+)/i.exec(head)?.[1];
      if (body !== undefined && length !== undefined && body.length >= Number(length)) socket.destroy();
    });
    socket.on("error", reject);
    socket.on("close", () => {
      clearTimeout(timer);
      const [head = "", body = ""] = text.split("\r\n\r\n", 2);
      resolve({ status: Number(head.split(" ")[1] ?? 0), head, body });
    });
  });
}

const own = () => `Host: 127.0.0.1:${played.port}\r\n`;
const get = (path, more = "") => `GET ${path} HTTP/1.1\r\n${own()}${more}Connection: close\r\n\r\n`;
const post = (path, body, more = "Content-Type: application/json\r\n") =>
  `POST ${path} HTTP/1.1\r\n${own()}${more}Content-Length: ${body.length}\r\nConnection: close\r\n\r\n${body}`;

test("whoever asks in a wrong way is refused with the status that says why", async () => {
  const { port } = played;
  const cases = [
    ["foreign Host", `GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n`, 403],
    ["own address with another port", `GET / HTTP/1.1\r\nHost: 127.0.0.1:1\r\n\r\n`, 403],
    ["foreign Host on the stream", `GET /api/stream HTTP/1.1\r\nHost: evil.example:${port}\r\n\r\n`, 403],
    ["two Hosts", `GET / HTTP/1.1\r\n${own()}Host: evil.example\r\n\r\n`, 403],
    ["two Hosts the other way round", `GET / HTTP/1.1\r\nHost: evil.example\r\n${own()}\r\n`, 403],
    ["no Host", `GET / HTTP/1.1\r\n\r\n`, 400],
    ["foreign Origin", post("/api/runs", "{}", "Content-Type: application/json\r\nOrigin: http://evil.example\r\n"), 403],
    ["Origin null", post("/api/runs", "{}", "Content-Type: application/json\r\nOrigin: null\r\n"), 403],
    ["Origin of another port", post("/api/runs", "{}", "Content-Type: application/json\r\nOrigin: http://127.0.0.1:1\r\n"), 403],
    ["another site", post("/api/runs", "{}", "Content-Type: application/json\r\nSec-Fetch-Site: cross-site\r\n"), 403],
    ["another site reads", get("/api/live", "Sec-Fetch-Site: cross-site\r\n"), 403],
    ["text/plain", post("/api/runs", "{}", "Content-Type: text/plain\r\n"), 415],
    ["form", post("/api/runs", "name=x", "Content-Type: application/x-www-form-urlencoded\r\n"), 415],
    ["json by its beginning only", post("/api/runs", "{}", "Content-Type: application/jsonp\r\n"), 415],
    ["no type", post("/api/runs", "{}", ""), 415],
    ["too large", `POST /api/marks HTTP/1.1\r\n${own()}Content-Type: application/json\r\nContent-Length: 65537\r\n\r\n`, 413],
    ["chunked", `POST /api/marks HTTP/1.1\r\n${own()}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n`, 400],
    ["a GET with a body", `GET /api/live HTTP/1.1\r\n${own()}Content-Length: 2\r\n\r\n{}`, 400],
    ["a method nobody takes", `PUT /api/runs HTTP/1.1\r\n${own()}Content-Type: application/json\r\nContent-Length: 2\r\n\r\n{}`, 405],
    ["a rig from another Origin", post("/api/rig", `{"own":true}`, "Content-Type: application/json\r\nOrigin: http://evil.example\r\n")
      .replace("POST", "PUT"), 403],
    ["a plan from another site", post("/api/plan", "{}", "Content-Type: application/json\r\nSec-Fetch-Site: cross-site\r\n"), 403],
    ["a method this path does not take", post("/api/rig", "{}"), 405],
    ["nothing there", get("/etc/passwd"), 404],
    ["climbing out", get("/../../../etc/passwd"), 404],
    ["broken JSON", post("/api/runs", "{"), 422],
    ["a key twice", post("/api/runs", `{"name":"a","name":"b"}`), 422],
    ["an unknown key", post("/api/runs", `{"nmae":"a"}`), 422],
    ["a mark without words", post("/api/marks", "{}"), 422],
    ["a mark with a line break", post("/api/marks", `{"text":"a\\nb"}`), 422],
    ["a distance that is no number", post("/api/marks", `{"text":"a","travel_m":"1"}`), 422],
    ["a run that is not open", post("/api/runs/99/stop", "{}"), 409],
    ["a run that is no number", post("/api/runs/x/stop", "{}"), 404],
    ["an alarm that is not there", post("/api/alarms/nothing/acknowledge", "{}"), 404],
    ["seen that says too much", post("/api/runs", `{"seen":{"alarm":1}}`), 422],
    ["seen before another start", post("/api/runs", `{"seen":{"start":"elsewhere"}}`), 409],
  ];
  for (const [label, bytes, want] of cases) {
    const reply = await raw(bytes);
    assert.equal(reply.status, want, `${label}: ${reply.head}`);
    if (want !== 400) assert.ok(JSON.parse(reply.body).error.code, label);
  }
  assert.deepEqual(played.wishes, [], "nothing was done");
});

test("an error in the body is told with its place", async () => {
  const reply = await raw(post("/api/runs", `{"name":\n  oops}`));
  const { error } = JSON.parse(reply.body);
  assert.equal(error.line, 2);
  assert.ok(error.column > 0);
});

test("its own page and a plain client get in", async () => {
  const origin = `Content-Type: application/json; charset=utf-8\r\nOrigin: http://127.0.0.1:${played.port}\r\nSec-Fetch-Site: same-origin\r\n`;
  assert.equal((await raw(post("/api/marks", `{"text":"from the page"}`, origin))).status, 201);
  assert.equal((await raw(post("/api/marks", `{"text":"from a shell","travel_m":1.25}`))).status, 201);
  assert.equal((await raw(get("/").replace("127.0.0.1:", "localhost:"))).status, 200);
  assert.ok(played.wishes.some((wish) => wish.startsWith("mark from a shell|1.25|this machine")));
});

test("every reply forbids foreign code, framing and guessing; none allows other origins", async () => {
  for (const path of ["/", "/app.js", "/api/live", "/api/rig", "/nothing"]) {
    const { head } = await raw(get(path));
    assert.match(head, /Content-Security-Policy: default-src 'self';/i, path);
    assert.match(head, /frame-ancestors 'none'/i, path);
    assert.match(head, /X-Content-Type-Options: nosniff/i, path);
    assert.doesNotMatch(head, /unsafe|Access-Control|Set-Cookie/i, path);
  }
});

test("files are packed when asked, and not sent twice", async () => {
  const plain = await raw(get("/app.js"));
  const packed = await raw(get("/app.js", "Accept-Encoding: gzip\r\n"));
  const never = await raw(get("/app.js", "Accept-Encoding: gzip;q=0\r\n"));
  assert.doesNotMatch(plain.head, /Content-Encoding/i);
  assert.match(packed.head, /Content-Encoding: gzip/i);
  assert.doesNotMatch(never.head, /Content-Encoding/i);
  const tag = /ETag: (\S+)/i.exec(plain.head)[1];
  assert.notEqual(/ETag: (\S+)/i.exec(packed.head)[1], tag);
  const again = await raw(get("/app.js", `If-None-Match: ${tag}\r\n`), { ms: 500 });
  assert.equal(again.status, 304);
  assert.equal(again.body, "");
});

// Counts live frames of one good viewer for that long.
async function framesIn(ms) {
  const stop = new AbortController();
  const reply = await fetch(`${played.url}api/stream`, { signal: stop.signal });
  const end = setTimeout(() => stop.abort(), ms);
  let frames = 0, beats = 0;
  try {
    for await (const bytes of reply.body) {
      const text = Buffer.from(bytes).toString();
      frames += text.split("event: live").length - 1;
      beats += text.split("event: beat").length - 1;
    }
  } catch {
    clearTimeout(end);
  }
  return { frames, beats };
}

test("the stream brings 10 to 20 frames a second, and a beat each half second", async () => {
  const { frames, beats } = await framesIn(2000);
  assert.ok(frames >= 10 && frames <= 44, `${frames} frames in 2 s`);
  assert.ok(beats >= 2 && beats <= 5, `${beats} beats in 2 s`);
});

test("a change of alarms is on the stream at once, not with the next frame", async () => {
  const stop = new AbortController();
  const reply = await fetch(`${played.url}api/stream`, { signal: stop.signal });
  let got = "";
  for await (const bytes of reply.body) {
    const before = got;
    got += Buffer.from(bytes).toString();
    if (before === "") played.play("alarm 1 0 1 quick|now|Stop.");
    if (got.includes('"name":"quick"')) break;
  }
  stop.abort();
  played.play("calm");
  assert.ok(got.split("event: live").length <= 6);
});

test("twenty viewers that read nothing delay nobody", async () => {
  const stalled = [];
  for (let i = 0; i < 20; i++) {
    const socket = net.connect(played.port, "127.0.0.1");
    socket.on("error", () => {});
    socket.pause();
    socket.write(get("/api/stream"));
    stalled.push(socket);
  }
  const { frames } = await framesIn(2500);
  assert.ok(frames >= 12, `${frames} frames in 2.5 s`);
  const before = performance.now();
  assert.equal((await raw(get("/api/live"))).status, 200);
  assert.ok(performance.now() - before < 3000);
  for (const socket of stalled) socket.destroy();
});

test("wishes that wait for a slow disk hold up neither the stream nor the page", async () => {
  played.play("slow 2000");
  await new Promise((resolve) => setTimeout(resolve, 100));
  const wishes = [1, 2, 3].map(() => raw(post("/api/marks", `{"text":"slow"}`)));
  const { frames } = await framesIn(1500);
  assert.ok(frames >= 7, `${frames} frames in 1.5 s`);
  assert.equal((await raw(get("/api/live"))).status, 200);
  assert.equal((await raw(get("/healthz"))).status, 200);
  for (const wish of wishes) assert.equal((await wish).status, 201);
  played.play("slow 0");
});

test("who never finishes asking is cut off", async () => {
  const begun = performance.now();
  const socket = net.connect(played.port, "127.0.0.1");
  let closed = false;
  socket.on("error", () => {});
  socket.on("close", () => { closed = true; });
  socket.resume();
  socket.write("GET / HTTP/1.1\r\n");
  const drip = setInterval(() => socket.write("a"), 300);
  await until("cut off", () => closed, 9000);
  clearInterval(drip);
  assert.ok(performance.now() - begun > 3000);
});

test("it is not healthy while nothing is measured", async () => {
  played.play("silent 1");
  await until("503", async () => (await raw(get("/healthz"))).status === 503, 3000);
  played.play("silent 0");
  await until("200", async () => (await raw(get("/healthz"))).status === 200, 3000);
});

test("it stops in good order with viewers on the stream and a wish under way", async () => {
  const other = await Played.start();
  const viewers = [];
  for (let i = 0; i < 5; i++) viewers.push(await fetch(`${other.url}api/stream`));
  other.play("slow 600");
  await new Promise((resolve) => setTimeout(resolve, 100));
  const wish = fetch(`${other.url}api/marks`, { method: "POST", headers: { "Content-Type": "application/json" },
    body: `{"text":"last words"}` }).catch(() => null); // its reply may be lost in the closing
  await new Promise((resolve) => setTimeout(resolve, 200));
  assert.equal(await other.end(), 0);
  assert.ok(other.wishes.some((one) => one.startsWith("mark last words")));
  await wish;
  for (const viewer of viewers) await viewer.text().catch(() => {});
});
