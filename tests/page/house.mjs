// SPDX-License-Identifier: GPL-3.0-or-later
// A house of its own for a test: a scenario's files in a fresh folder, its instruments played by the
// real `reeve rehearse`, the real daemon over them, and a wire between page and daemon.
//
// Everything runs on loopback and on pseudo-terminals; only processes started here are ended.  The
// programs under test are found by RV_REEVED and RV_REEVE, the scenarios under RV_SOURCE.
import { execFile, spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import net from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

const { RV_REEVED, RV_REEVE, RV_SOURCE } = process.env;
const started = new Set();

process.on("exit", () => { for (const child of started) child.kill("SIGKILL"); });

function start(program, args, folder, lines) {
  const child = spawn(program, args, { cwd: folder, stdio: ["ignore", "pipe", "pipe"] });
  started.add(child);
  child.ended = new Promise((resolve) => child.on("exit", (code, signal) => {
    started.delete(child);
    resolve(code ?? signal);
  }));
  for (const stream of [child.stdout, child.stderr]) {
    let text = "";
    stream.on("data", (bytes) => {
      const all = (text + bytes).split("\n");
      text = all.pop();
      for (const line of all) lines(line);
    });
  }
  return child;
}

// What a program printed; an error when it did not end with status 0.
function run(program, args, folder) {
  return new Promise((resolve, reject) => execFile(program, args,
    { cwd: folder, timeout: 60000, maxBuffer: 1 << 28 }, (error, out, err) =>
      (error ? reject(new Error(`${program} ${args.join(" ")}: ${error.message} ${err}`)) : resolve(out))));
}

async function freePort() {
  const server = net.createServer();
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address();
  await new Promise((resolve) => server.close(resolve));
  return port;
}

// Rows of a query, numbers as exact as the file has them.
const QUERY = `
import json, sqlite3, sys
store = sqlite3.connect("file:" + sys.argv[1] + "?mode=ro", uri=True, timeout=20)
json.dump(store.execute(sys.argv[2], json.loads(sys.argv[3])).fetchall(), sys.stdout)
`;

export class House {
  // Plays that scenario's instruments from now on and starts the daemon.
  static async open(scenario) {
    const house = new House();
    house.folder = mkdtempSync(join(tmpdir(), "reeve-page-"));
    house.log = [];
    house.port = 0;
    const base = await freePort();
    const source = join(RV_SOURCE, "tools/scenarios", scenario);
    for (const part of ["rig.yaml", "scenario.yaml", "station.yaml"]) {
      const text = readFileSync(join(source, part), "utf8");
      house.write(part, text.replace("port: 8750", "port: 0").replace("port: 1502,", `port: ${base},`));
    }
    house.record = join(house.folder, /^record: *(\S+)/m.exec(house.read("station.yaml"))[1]);
    mkdirSync(join(house.folder, "wires"));
    const plays = new Promise((resolve, reject) => {
      house.rehearsal = start(RV_REEVE, ["rehearse", "scenario.yaml", "--wires", "wires", "--base-port", String(base)],
        house.folder, (line) => { house.log.push(line); if (line.startsWith("playing ")) resolve(); });
      house.rehearsal.ended.then((how) => reject(new Error(`the rehearsal ended: ${how}\n${house.log.join("\n")}`)));
    });
    await plays;
    await house.startDaemon();
    return house;
  }

  read(name) { return readFileSync(join(this.folder, name), "utf8"); }
  write(name, text) { writeFileSync(join(this.folder, name), text); }

  // The page's port stays the same from the second start on.
  async startDaemon() {
    this.write("station.yaml", this.read("station.yaml").replace("port: 0}", `port: ${this.port}}`));
    this.port = await new Promise((resolve, reject) => {
      this.daemon = start(RV_REEVED, ["-c", "station.yaml"], this.folder, (line) => {
        this.log.push(line);
        const found = /^page: http.*:(\d+)\/?$/.exec(line);
        if (found) resolve(Number(found[1]));
      });
      this.daemon.ended.then((how) => reject(new Error(`the daemon ended: ${how}\n${this.log.slice(-20).join("\n")}`)));
    });
    this.url = `http://127.0.0.1:${this.port}/`;
  }

  async endDaemon(signal) {
    this.daemon.kill(signal);
    return this.daemon.ended;
  }

  async live() {
    const reply = await fetch(`${this.url}api/live`);
    return reply.json();
  }

  reeve(...args) { return run(RV_REEVE, args, this.folder); }

  async query(sql, ...values) {
    return JSON.parse(await run("/usr/bin/python3", ["-c", QUERY, this.record, sql, JSON.stringify(values)], this.folder));
  }

  async close() {
    for (const child of [this.daemon, this.rehearsal]) {
      if (!child || !started.has(child)) continue;
      child.kill("SIGKILL");
      await child.ended;
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}
