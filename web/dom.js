// SPDX-License-Identifier: GPL-3.0-or-later
// The few things the page does with elements.  Text only ever goes in as text.

export const GONE = "– –";

// Elements that hold a live value: all of them are blanked when readings stop.
const live = new Set();

export const get = (id) => document.getElementById(id);

export function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function value(element, text) {
  live.add(element);
  put(element, text ?? GONE);
}

export function blankAll() {
  for (const element of live) {
    if (element.isConnected) put(element, GONE);
    else live.delete(element);
  }
}

export function make(tag, className, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  return element;
}

export function svg(tag, attributes = {}, text) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, to] of Object.entries(attributes)) element.setAttribute(name, to);
  if (text !== undefined) element.textContent = text;
  return element;
}

export function set(element, name, to) {
  if (element.dataset[name] !== to) element.dataset[name] = to;
}
