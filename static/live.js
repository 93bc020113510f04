// Follows a batch: what another phone logs shows here within a second. The
// stream comes back by itself after a drop, and never touches a form.

import "./awake.js";
import { refresh } from "./swap.js";

const page = document.querySelector("[data-batch]");
let asked;

async function look() {
  // The last question counts: an earlier answer would be an older page.
  asked?.abort();
  asked = new AbortController();
  try {
    const answer = await fetch(location.pathname, { signal: asked.signal });
    if (answer.ok) refresh(await answer.text());
  } catch {
    // Overtaken, or out of reach: the stream tells again.
  }
}

function follow() {
  const stream = new EventSource(`/api/v1/batches/${page.dataset.batch}/events`);
  let dropped = false;
  stream.addEventListener("entries", look);
  stream.addEventListener("error", () => (dropped = true));
  // What was logged while the stream was down may not be told by it.
  stream.addEventListener("open", () => dropped && look());
  // A page left open for ever would keep the server from closing down.
  addEventListener("pagehide", () => stream.close(), { once: true });
}

if (page) {
  follow();
  // Back from the browser's own memory, the page is as old as it was left.
  addEventListener("pageshow", (event) => {
    if (!event.persisted) return;
    follow();
    look();
  });
}
