// The manual's script: what starts on a page, in order. It knows no chemistry:
// every number comes from the core.

import { choice, printing } from "./appearance.js";
import { calculators, startCalculators } from "./calculators.js";
import { coming, fetchCore } from "./core.js";
import { fillCards } from "./cards.js";
import { notice, part } from "./notices.js";
import { loaded, workOffline } from "./offline.js";
import { html } from "./page.js";
import { markWhereOneIs } from "./reach.js";
import { tickSteps } from "./steps.js";
import { sortTables } from "./tables.js";
import { startTimers } from "./timers.js";
import { explainWords } from "./words.js";

// Until this stands there, the style tells a reader that the script has not come.
html.dataset.started = "";
part("Appearance", () => choice("appearance"));
part("Size of paper", () => choice("paper"));
printing();
startCalculators();
const cards = fillCards();
// What keeps readings comes only where there are any to keep.
if (html.dataset.readings) import(new URL(html.dataset.readings, document.baseURI).href).catch((error) => {
  console.error(error);
  notice("The log of readings could not be loaded.", "Try again", () => location.reload());
});
explainWords();
tickSteps();
markWhereOneIs();
startTimers();
sortTables();

/** Whether the line is good; where it is not known, it is taken for good. */
function goodLine() {
  /** @type {Navigator & { connection?: { saveData?: boolean, effectiveType?: string } }} */
  const { connection = {} } = navigator;
  return !connection.saveData && (connection.effectiveType ?? "4g") === "4g";
}
// On a good line the core comes before it is asked for.
if (calculators.length && html.dataset.module && goodLine()) {
  loaded.then(() => (window.requestIdleCallback ?? setTimeout)(() => fetchCore()));
}
Promise.all([loaded, cards, coming]).then(workOffline).catch((error) => console.warn("offline:", error));
