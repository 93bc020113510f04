// The chill moves on by itself: ages, forecasts and ice are asked for anew while
// somebody looks. What another phone logs comes by the stream (live.js).

import { refresh } from "./swap.js";

const EVERY_MS = 15_000;
const batch = document.querySelector("[data-batch]")?.dataset.batch;

async function look() {
  if (document.hidden) return;
  try {
    const answer = await fetch(`/batches/${batch}/chill/now`);
    if (answer.ok) refresh(await answer.text());
  } catch {
    // Out of reach of the server: the next look may find it.
  }
}

if (batch) {
  setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
}

// A form that was called for by its link is ready to be typed in.
addEventListener("hashchange", () => {
  const call = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
  if (call && call.classList.contains("call")) call.querySelector("input[type=text], textarea")?.focus();
});
