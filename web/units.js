// SPDX-License-Identifier: GPL-3.0-or-later
// SI as it comes from the station -> text in the unit people chose.  Pure functions.

// Newtons in one unit, and the step that the text is rounded to: finer digits only flicker.
// Exact by definition: pound 0.45359237 kg, standard gravity 9.80665 m/s2.
const POUND_N = 0.45359237 * 9.80665;
const FORCES = {
  kN: { n: 1000, places: 1 },
  N: { n: 1, places: 0, step: 10 },
  daN: { n: 10, places: 0 },
  kgf: { n: 9.80665, places: 0 },
  tf: { n: 9806.65, places: 2 },
  lbf: { n: POUND_N, places: 0, step: 10 },
  klbf: { n: POUND_N * 1000, places: 1 },
};

const known = (number) => typeof number === "number" && Number.isFinite(number);

// 12345.6 -> "12 345.6" with narrow spaces and a true minus; never "-0".
export function plain(number, places) {
  if (!known(number)) return undefined;
  const text = Math.abs(number).toFixed(places);
  const [whole, part] = text.split(".");
  const spaced = whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
  const minus = number < 0 && Number(text) !== 0 ? "−" : "";
  return minus + spaced + (part ? "." + part : "");
}

export function forceIn(newton, unit) {
  return known(newton) ? newton / FORCES[unit].n : undefined;
}

export function forceNumber(newton, unit) {
  const { n, places, step = 1 } = FORCES[unit];
  return known(newton) ? plain(Math.round(newton / n / step * 10 ** places) * step / 10 ** places, places)
    : undefined;
}

const withUnit = (text, unit) => (text === undefined ? undefined : `${text}\u00a0${unit}`);

export const force = (newton, unit) => withUnit(forceNumber(newton, unit), unit);

// "20.8–21.6 kN", or one number when both ends read the same.
export function forceRange(low, high, unit) {
  const a = forceNumber(low, unit), b = forceNumber(high, unit);
  if (a === undefined || b === undefined) return undefined;
  return withUnit(a === b ? a : `${a}–${b}`, unit);
}

export const metres = (m, places = 2) => withUnit(plain(m, places), "m");
export const speed = (mps) => (known(mps) ? withUnit(plain(Math.abs(mps), 2), "m/s") : undefined);
export const percent = (ratio, places = 0) => withUnit(known(ratio) ? plain(ratio * 100, places) : undefined, "%");
export const seconds = (s, places = 0) => withUnit(plain(s, places), "s");

export function span(s) {
  if (!known(s)) return undefined;
  if (s < 60) return `${s.toFixed(s < 10 ? 1 : 0)}\u00a0s`;
  const minutes = Math.floor(s / 60);
  if (minutes < 60) return `${minutes}\u00a0min ${Math.floor(s % 60)}\u00a0s`;
  return `${Math.floor(minutes / 60)}\u00a0h ${minutes % 60}\u00a0min`;
}

// A channel's value in its own unit; forces in the unit people chose.
export function quantity(number, channelUnit, forceUnit) {
  if (channelUnit === "N") return force(number, forceUnit);
  if (channelUnit === "m") return metres(number);
  if (!known(number)) return undefined;
  const text = plain(Number(number.toPrecision(4)), Math.abs(number) < 100 ? 2 : 0);
  return channelUnit ? withUnit(text, channelUnit) : text;
}

export const MOTION = { in: "Hauling in", out: "Paying out", hold: "Holding", unsteady: "Unsteady" };

export function localTime(utc) {
  const at = new Date(utc);
  if (Number.isNaN(at.getTime())) return "";
  const two = (n) => String(n).padStart(2, "0");
  return `${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;
}
