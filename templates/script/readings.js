// Readings: the log of a run, kept on the device, and the logs of a class side by side.

import { part } from "./notices.js";
import { all } from "./page.js";
import { startClass } from "./readings-class.js";
import { Log } from "./readings-log.js";

for (const block of all(".readings[data-spec]")) part("The log of readings", () => new Log(block));
for (const sheet of all(".class-sheet")) part("The readings of the class", () => startClass(sheet));
