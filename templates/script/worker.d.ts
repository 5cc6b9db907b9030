// What the builder puts before the worker.
declare const VERSION: string;
declare const FILES: (string | [string, string])[];
