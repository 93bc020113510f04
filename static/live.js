// Follows a batch: what another phone logs shows here within a second. The
// stream comes back by itself after a drop, and never touches a form.

import { refresh } from "./swap.js";

const page = document.querySelector("[data-batch]");

async function look() {
  try {
    const answer = await fetch(location.pathname, { headers: { accept: "text/html" } });
    if (answer.ok) refresh(await answer.text());
  } catch {
    // The stream tries again; the page stays as it is.
  }
}

if (page && window.EventSource) {
  const stream = new EventSource(`/api/v1/batches/${page.dataset.batch}/events`);
  stream.addEventListener("entries", look);
  // A page left open for ever would keep the server from closing down.
  addEventListener("pagehide", () => stream.close());
}
