// Working without a network: the worker starts when the page has all it needs.

import { notice } from "./notices.js";
import { root } from "./page.js";

/** @type {Promise<unknown>} */
export const loaded = new Promise((done) => {
  if (document.readyState === "complete") done(null);
  else addEventListener("load", done, { once: true });
});

export async function workOffline() {
  const { serviceWorker } = navigator;
  if (!serviceWorker) return;
  const registration = await serviceWorker.register(new URL("worker.js", root));
  let taking = false;
  /** @param {ServiceWorker} worker */
  const offer = (worker) => notice("A new version of this manual is ready.", "Take it", () => {
    taking = true;
    worker.postMessage("take");
  });
  serviceWorker.addEventListener("controllerchange", () => { if (taking) location.reload(); });
  if (registration.waiting) offer(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const worker = registration.installing;
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && serviceWorker.controller) offer(worker);
    });
  });
}
