// SPDX-License-Identifier: GPL-3.0-or-later
// The panel above the buttons: asks, confirms, and tells what became of a wish.
import { get, make } from "./dom.js";
import { keepKey } from "./ask.js";

const CLOSE_MS = 5000;
let timer = 0;

export function closePanel() {
  clearTimeout(timer);
  get("panel").hidden = true;
  get("panel").replaceChildren();
}

export function openPanel(title, ...content) {
  const panel = get("panel");
  clearTimeout(timer);
  const head = make("p", "panel-title", title);
  const close = make("button", "quiet-button", "Close");
  close.type = "button";
  close.addEventListener("click", closePanel);
  const top = make("div", "panel-top");
  top.append(head, close);
  panel.replaceChildren(top, ...content);
  panel.hidden = false;
}

export function closeSoon() {
  clearTimeout(timer);
  timer = setTimeout(closePanel, CLOSE_MS);
}

export function bigButton(text, act) {
  const button = make("button", "big", text);
  button.type = "button";
  button.addEventListener("click", act);
  return button;
}

export function field(label, attributes) {
  const box = make("label", "field", label);
  const input = make("input");
  for (const [name, to] of Object.entries(attributes)) input.setAttribute(name, to);
  box.append(input);
  return { box, input };
}

function askKey(wish, done) {
  const { box, input } = field("Station's key", { type: "password", autocomplete: "off" });
  openPanel("This needs the station's key", box, bigButton("Go on", () => {
    keepKey(input.value.trim());
    say(wish, done);
  }));
  input.focus();
}

// Carries out a wish and says what became of it.
export async function say(wish, done) {
  try {
    const reply = await wish();
    if (reply.taken) openPanel("Taken, but not on the disk yet: look at the record's state.");
    else if (done) openPanel(done(reply));
    else closePanel();
    closeSoon();
  } catch (refused) {
    if (refused.code === "key_missing" || refused.code === "key_wrong") {
      askKey(wish, done);
      return;
    }
    openPanel(`Not done: ${refused.message}`);
  }
}
