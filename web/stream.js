// SPDX-License-Identifier: GPL-3.0-or-later
// The live stream, and whether what it brings is live.
//
// A frame carries the station's own clock.  The smallest (arrival - clock) ever seen is how the two
// clocks stand to each other when nothing is held up; a frame that comes later than that by more
// than the threshold is old news, however fast it arrives after a hold-up, and does not count.

export const STALE_S = 0.5;
const CHECK_MS = 100;
const BEAT_S = 0.75; // the station beats each 0.5 s as long as it is there at all
const AGAIN_MS = 500;
const HIDDEN_MS = 30000;
const CREEP = 1e-4; // clocks may drift apart by so much: the minimum is let go that slowly
const GAP_MS = 2000;

// Ages of frames by the station's clock.  Pure, so that it can be tested without a network.
export class Clock {
  constructor() {
    this.start = null;
    this.offset = Infinity;
    this.arrival = 0;
  }

  // Age in seconds of a frame of this start of the station, stamped clock, come at arrival.
  age(start, clock, arrival) {
    if (start !== this.start) {
      this.start = start;
      this.offset = Infinity;
    }
    this.offset = Math.min(this.offset + (arrival - this.arrival) * CREEP, arrival - clock);
    if (Number.isNaN(this.offset)) this.offset = arrival - clock;
    this.arrival = arrival;
    return arrival - clock - this.offset;
  }
}

const now = () => performance.now() / 1000;

// Calls frame(snapshot, arrival) for each live frame, and stale(why) when there has been none for
// STALE_S; why: {link: does the station still answer, since: arrival of the last live frame}.
export class Stream {
  constructor({ frame, stale, restart }) {
    this.told = { frame, stale, restart };
    this.clock = new Clock();
    this.source = null;
    this.live = false;
    this.lastLive = -Infinity; // when the newest live frame was made, by our clock
    this.lastBeat = -Infinity;
    this.frames = 0;
    this.old = 0;
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
    const age = this.clock.age(snapshot.start, snapshot.mono_s, arrival);
    if (before !== null && before !== snapshot.start) this.told.restart();
    if (age >= STALE_S) {
      this.old += 1;
      return;
    }
    this.frames += 1;
    this.live = true;
    this.lastLive = arrival - age;
    this.told.frame(snapshot, arrival - age);
  }

  check() {
    const at = now();
    const gap = Date.now() - this.lastCheck;
    this.lastCheck = Date.now();
    // The phone slept: whatever waits in its buffers is old, begin anew.
    if (gap > GAP_MS && !document.hidden) this.open();
    if (at - this.lastLive <= STALE_S) return;
    this.live = false;
    this.told.stale({ link: at - this.lastBeat < BEAT_S, since: this.lastLive, at });
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
