// The server's time, by which everything due is told: a phone's own clock may be
// minutes off. Each page says when it was made; how far the phone is from that is
// all that is kept, so it goes on counting without the server.

const NOTICEABLE_MS = 2_000;
let ahead = 0;

/** Now, in milliseconds, by the server's clock. */
export const now = () => Date.now() + ahead;

/** Takes over the time a page was made at, `age` milliseconds ago. */
export function hear(madeAt, age = 0) {
  const differs = Date.parse(madeAt) + age - Date.now();
  if (Number.isNaN(differs)) return;
  ahead = Math.abs(differs) < NOTICEABLE_MS ? 0 : differs;
}

const [visit] = performance.getEntriesByType("navigation");
hear(document.documentElement.dataset.now, performance.now() - (visit?.responseStart ?? 0));
