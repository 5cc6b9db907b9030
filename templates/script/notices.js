// What is said to the reader: quietly to a screen reader, or over the page.

import { make } from "./page.js";

// One quiet place where changes are said to a screen reader.
const status = make("p", { className: "visually-hidden", role: "status" });
document.body.append(status);

/** @type {number | undefined} */
let speaking;

/**
 * Says `text` to a screen reader, after `wait` milliseconds unless something else is said.
 * @param {string} text
 * @param {number} [wait]
 */
export function say(text, wait = 0) {
  clearTimeout(speaking);
  if (wait) speaking = setTimeout(say, wait, text);
  else status.textContent = text; // at once, or the next result would come before it
}

/**
 * A notice lies over the foot of the window until one of its buttons is pressed.
 * @param {string} text
 * @param {string} action what the first button says
 * @param {() => void} run what it does
 */
export function notice(text, action, run) {
  /** @param {string} textContent @param {() => void} [then] */
  const button = (textContent, then) => make("button", { type: "button", textContent, onclick() { box.remove(); then?.(); } });
  const box = make("div", { className: "notice", role: "alert" },
    make("p", { textContent: text }), button(action, run), button("Not now"));
  document.body.append(box);
}

/**
 * Each part of the page fails alone, and says so: what is kept or comes with the
 * address may be broken, and must not take the rest down.
 * @template T
 * @param {string} name
 * @param {() => T} run
 * @returns {T | undefined}
 */
export function part(name, run) {
  try {
    return run();
  } catch (error) {
    console.error(name, error);
    notice(`${name} could not be started here; the rest of the page works.`, "Load again", () => location.reload());
    return undefined;
  }
}
