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

async function ask(path, options) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
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

export const read = (path) => ask(path, {});

export function change(path, body = {}) {
  const headers = { "Content-Type": "application/json" };
  const key = sessionStorage.getItem(KEY);
  if (key) headers["X-Reeve-Key"] = key;
  return ask(path, { method: "POST", headers, body: JSON.stringify(body) });
}

export const keepKey = (key) => sessionStorage.setItem(KEY, key);
