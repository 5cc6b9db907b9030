/**
 * Seconds as a clock shows them: 4:05, 1:02:03.
 * @param {number} seconds
 */
export function clock(seconds) {
  const [h, m, s] = [seconds / 3600, (seconds / 60) % 60, seconds % 60].map(Math.floor);
  return (h ? [h, m, s] : [m, s]).map((part, at) => (at ? String(part).padStart(2, "0") : part)).join(":");
}
