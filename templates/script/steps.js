// Steps: ticks are remembered by the step's own words, so that a reworded step
// is a new one.

import { keep, kept } from "./device.js";
import { part, say } from "./notices.js";
import { all, make } from "./page.js";

const place = "ticks " + location.pathname;

/** @returns {Set<unknown>} */
function ticked() {
  const ticks = kept(place);
  return new Set(Array.isArray(ticks) ? ticks : []);
}

/**
 * Its words without the numbers that hang on the run: a tick outlasts another compound.
 * @param {HTMLInputElement} box
 */
function words(box) {
  const label = box.closest("label")?.cloneNode(true);
  if (!(label instanceof HTMLElement)) return "";
  for (const number of all("[data-number]", label)) number.remove();
  return label.textContent.trim().slice(0, 80);
}

/** @param {HTMLInputElement} box */
function remember(box) {
  const ticks = ticked();
  if (box.checked) ticks.add(words(box));
  else ticks.delete(words(box));
  keep(place, ticks.size ? [...ticks] : null);
}

export function tickSteps() {
  for (const list of all(".steps")) part("Ticking steps off", () => {
    /** @type {HTMLInputElement[]} */
    const boxes = all(".step input[data-step]", list);
    const before = ticked();
    for (const box of boxes) {
      box.checked = before.has(words(box));
      box.onchange = () => remember(box);
    }
    const untick = make("button", { type: "button", textContent: "Untick all", onclick() {
      for (const box of boxes) if (box.checked) box.click();
      say("All steps unticked");
    } });
    list.before(make("div", { className: "step-tools" }, untick, ...awakeButton()));
  });
}

// Keeps the screen on; the browser lets go whenever the page is hidden.
function awakeButton() {
  if (!navigator.wakeLock) return [];
  const button = make("button", { type: "button", textContent: "Keep the screen on" });
  button.setAttribute("aria-pressed", "false");
  /** @type {WakeLockSentinel | undefined} */
  let lock;
  const wanted = () => button.getAttribute("aria-pressed") === "true";
  const hold = async () => {
    try {
      lock = await navigator.wakeLock.request("screen");
    } catch {
      button.setAttribute("aria-pressed", "false");
      say("This device does not let the page keep the screen on");
    }
  };
  button.onclick = () => {
    button.setAttribute("aria-pressed", String(!wanted()));
    if (wanted()) hold();
    else lock?.release();
  };
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && wanted()) hold();
  });
  return [button];
}
