// Timers: the time of the end is what is kept, so that neither a sleeping screen
// nor a reload makes them wrong.

import { clock } from "./clock.js";
import { keep, kept } from "./device.js";
import { notice, part } from "./notices.js";
import { all } from "./page.js";

class Timer {
  /**
   * @param {HTMLElement} button
   * @param {number} index
   */
  constructor(button, index) {
    this.button = button;
    this.words = button.textContent.trim();
    this.key = `timer ${location.pathname} ${index}`;
    const end = kept(this.key);
    /** @type {number | null} */
    this.end = typeof end === "number" ? end : null;
    this.told = (this.end ?? 0) < Date.now() - 3600000; // ended long ago: shown, not announced
    button.onclick = () => {
      this.end = this.end ? null : Date.now() + 60000 * Number(button.dataset.minutes);
      this.told = false;
      keep(this.key, this.end);
      this.show();
    };
    this.show();
  }

  show() {
    const { button, words } = this;
    const left = Math.ceil(((this.end ?? 0) - Date.now()) / 1000);
    const state = !this.end ? "ready" : left > 0 ? "running" : "over";
    const text = { ready: `▷ ${words}`, running: `◼ ${clock(left)}`, over: `${words}: time is up` }[state];
    if (button.textContent !== text) button.textContent = text;
    if (button.dataset.state === state) return;
    button.dataset.state = state;
    const does = { ready: "start the timer", running: "timer runs, stop it", over: "time is up, clear the timer" }[state];
    button.setAttribute("aria-label", `${words}: ${does}`);
    if (state === "over" && !this.told) {
      this.told = true;
      if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([400, 200, 400]);
      notice(`Time is up: ${words}.`, "Go to the step", () => { button.scrollIntoView({ block: "center" }); button.focus(); });
    }
  }
}

export function startTimers() {
  const timers = all(".timer[data-minutes]").flatMap((button, index) => part("A timer", () => new Timer(button, index)) ?? []);
  if (!timers.length) return;
  const showAll = () => { for (const timer of timers) timer.show(); };
  setInterval(showAll, 500);
  document.addEventListener("visibilitychange", showAll);
}
