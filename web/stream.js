// SPDX-License-Identifier: GPL-3.0-or-later
// The live stream, and whether what it brings is live.
//
// A frame carries the station's own clock.  The smallest (arrival - clock) ever seen is how the two
// clocks stand to each other when nothing is held up; a frame that comes later than that by more
// than the threshold is old news, however fast it arrives after a hold-up, and does not count.
//
// A link that holds every frame up by the same time cannot be told from a quick one that way.  So
// the station is asked for its clock too: the answer was made after the question, which bounds how
// far its clock can be ahead of where frames put it, and with that how old a frame can be at most.
import { read } from "./ask.js";

export const STALE_S = 0.5;
const CHECK_MS = 100;
const BEAT_S = 0.75; // the station beats each 0.5 s as long as it is there at all
const AGAIN_MS = 500;
const OLDEST_S = 0.9; // with a check each 100 ms nothing older than 1 s stands on the page
const QUICK_S = 0.3; // a way there and back that leaves no doubt
const ASK_MS = 2000, ASK_QUICK_MS = 60000;
const HIDDEN_MS = 30000;
const CREEP = 1e-4; // clocks may drift apart by so much: the minimum is let go that slowly
const GAP_MS = 2000;

// Ages of frames by the station's clock.  Pure, so that it can be tested without a network.
export class Clock {
  constructor() {
    this.start = null;
    this.offset = Infinity;
    this.arrival = 0;
    this.least = -Infinity; // the offset cannot be less
    this.asked = 0;
  }

  // The station's clock stood at clock some time after asked.
  bound(start, clock, asked) {
    if (start !== this.start) this.begin(start);
    const faded = this.least - Math.max(0, asked - this.asked) * CREEP;
    this.least = Math.max(faded, asked - clock);
    this.asked = asked;
  }

  // How old a frame of that clock, come at arrival, can be at most.
  oldest(clock, arrival) {
    return arrival - clock - this.least;
  }

  begin(start) {
    this.start = start;
    this.offset = Infinity;
    this.least = -Infinity;
  }

  // Age in seconds of a frame of this start of the station, stamped clock, come at arrival.
  age(start, clock, arrival) {
    if (start !== this.start) this.begin(start);
    this.offset = Math.min(this.offset + (arrival - this.arrival) * CREEP, arrival - clock);
    if (Number.isNaN(this.offset)) this.offset = arrival - clock;
    this.arrival = arrival;
    return arrival - clock - this.offset;
  }
}

const now = () => performance.now() / 1000;

// Calls frame(snapshot, arrival) for each live frame, and stale(why) when there has been none for
// STALE_S; why: {link: does the station still answer, slow: it does, but too late, since: when the
// last live frame was made}.
export class Stream {
  constructor({ frame, stale, restart }) {
    this.told = { frame, stale, restart };
    this.clock = new Clock();
    this.source = null;
    this.live = false;
    this.lastLive = -Infinity; // when the newest live frame was made, by our clock
    this.lastBeat = -Infinity;
    this.frames = 0;
    this.lastLate = -Infinity;
    this.lastCheck = Date.now();
    this.open();
    setInterval(() => this.check(), CHECK_MS);
    document.addEventListener("visibilitychange", () => this.visibility());
  }

  open() {
    clearTimeout(this.again);
    this.source?.close();
    this.source = new EventSource("/api/stream");
    this.source.addEventListener("live", (event) => this.arrived(event));
    this.source.addEventListener("beat", () => { this.lastBeat = now(); });
    this.source.addEventListener("error", () => {
      // A refusal (503 when too many watch) ends an EventSource for good: make a new one.
      if (this.source.readyState !== EventSource.CLOSED) return;
      clearTimeout(this.again);
      this.again = setTimeout(() => this.open(), AGAIN_MS);
    });
  }

  arrived(event) {
    const arrival = now();
    const snapshot = JSON.parse(event.data);
    const before = this.clock.start;
    if (before !== snapshot.start) this.ask();
    const age = this.clock.age(snapshot.start, snapshot.mono_s, arrival);
    if (before !== null && before !== snapshot.start) this.told.restart();
    if (age >= STALE_S || this.clock.oldest(snapshot.mono_s, arrival) >= OLDEST_S) {
      this.lastLate = arrival;
      return;
    }
    this.frames += 1;
    this.live = true;
    this.lastLive = arrival - age;
    this.told.frame(snapshot, arrival - age);
  }

  // Asks until one answer came quickly, then now and then, as clocks drift.
  async ask() {
    clearTimeout(this.askAgain);
    const asked = now();
    let wait = ASK_MS;
    try {
      const { start, mono_s } = await read("/api/live");
      this.clock.bound(start, mono_s, asked);
      if (now() - asked < QUICK_S) wait = ASK_QUICK_MS;
    } catch {
      wait = AGAIN_MS;
    }
    clearTimeout(this.askAgain);
    this.askAgain = setTimeout(() => this.ask(), wait);
  }

  check() {
    const at = now();
    const gap = Date.now() - this.lastCheck;
    this.lastCheck = Date.now();
    // The phone slept: whatever waits in its buffers is old, and its clock may have slept too.
    if (gap > GAP_MS && !document.hidden) {
      this.clock.begin(this.clock.start);
      this.ask();
      this.open();
    }
    if (at - this.lastLive <= STALE_S) return;
    this.live = false;
    this.told.stale({ link: at - this.lastBeat < BEAT_S, slow: at - this.lastLate < BEAT_S, since: this.lastLive, at });
  }

  visibility() {
    clearTimeout(this.rest);
    if (!document.hidden) {
      if (this.source.readyState === EventSource.CLOSED) this.open();
      return;
    }
    // A browser has few connections to one station: a page that nobody sees lets go of its own.
    this.rest = setTimeout(() => {
      clearTimeout(this.again);
      this.source.close();
    }, HIDDEN_MS);
  }
}
