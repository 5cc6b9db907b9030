// What is kept on the device. It may be refused (private windows); then nothing
// is remembered and all else works.

/**
 * @param {string} key
 * @returns {unknown} whatever was kept, null if nothing can be read
 */
export function kept(key) {
  try { return JSON.parse(localStorage.getItem("forerun " + key) ?? "null"); } catch { return null; }
}

/**
 * @param {string} key
 * @param {unknown} value null forgets it
 */
export function keep(key, value) {
  try {
    if (value === null) localStorage.removeItem("forerun " + key);
    else localStorage.setItem("forerun " + key, JSON.stringify(value));
  } catch { /* not remembered */ }
}
