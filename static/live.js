// Follows a batch: what another phone logs shows here within a second, timers and
// verdict with it. The stream comes back by itself after a drop; what is being
// typed stays as it is (swap.js). A page out of sight lets go of the stream, as a
// browser has only six for each address, and catches up when it is looked at.

import "./awake.js";
import { refresh } from "./swap.js";

/** A stream the browser has given up is opened anew after this. */
const AGAIN_MS = 2_000;

const page = document.querySelector("[data-batch]");
let asked;
let stream;
let timer = 0;

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
  letGo();
  stream = new EventSource(`/api/v1/batches/${page.dataset.batch}/events`);
  let dropped = false;
  stream.addEventListener("entries", look);
  stream.addEventListener("error", () => {
    dropped = true;
    // A browser tries again by itself, unless what answered was no stream.
    if (stream.readyState === EventSource.CLOSED) timer = setTimeout(catchUp, AGAIN_MS);
  });
  // What was logged while the stream was down may not be told by it.
  stream.addEventListener("open", () => dropped && look());
}

function letGo() {
  clearTimeout(timer);
  stream?.close();
  stream = undefined;
}

function catchUp() {
  follow();
  look();
}

if (page) {
  follow();
  addEventListener("visibilitychange", () => (document.hidden ? letGo() : catchUp()));
  // A page left open for ever would keep the server from closing down.
  addEventListener("pagehide", letGo);
  // Back from the browser's own memory, the page is as old as it was left.
  addEventListener("pageshow", (event) => event.persisted && catchUp());
}
