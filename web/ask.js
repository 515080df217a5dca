// SPDX-License-Identifier: GPL-3.0-or-later
// Questions and changes over plain requests.

const KEY = "reeve key";
const PATIENCE_MS = 8000;

export class Refused extends Error {
  constructor(status, error) {
    super(error?.text ?? `the station answered ${status}`);
    this.status = status;
    this.code = error?.code ?? "";
  }
}

async function ask(path, options, patience_ms = PATIENCE_MS) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), patience_ms);
  try {
    const reply = await fetch(path, { ...options, signal: stop.signal, credentials: "omit" });
    const body = await reply.json();
    if (!reply.ok) throw new Refused(reply.status, body.error);
    return { ...body, taken: reply.status === 202 };
  } catch (fault) {
    if (fault instanceof Refused) throw fault;
    throw new Refused(0, { text: "no answer from the station: not known whether it was done" });
  } finally {
    clearTimeout(timer);
  }
}

// What looks through a whole run takes its time.
export const LONG_MS = 40000;

export const read = (path, patience_ms) => ask(path, {}, patience_ms);

export function change(path, body = {}, patience_ms = PATIENCE_MS) {
  const headers = { "Content-Type": "application/json" };
  const key = sessionStorage.getItem(KEY);
  if (key) headers["X-Reeve-Key"] = key;
  return ask(path, { method: "POST", headers, body: JSON.stringify(body) }, patience_ms);
}

export const keepKey = (key) => sessionStorage.setItem(KEY, key);
