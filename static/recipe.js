// Figures as one types: the form goes to the address in data-preview a moment
// after the last key, and the parts that come back take the place of those with
// their ids. Without this a button of the form does the same.

const PAUSE_MS = 400;

const form = document.querySelector("form[data-preview]");
let pause;
let asked;

async function preview() {
  asked?.abort();
  asked = new AbortController();
  try {
    const answer = await fetch(form.dataset.preview, {
      method: "POST",
      body: new URLSearchParams(new FormData(form)),
      signal: asked.signal,
    });
    if (!answer.ok) return;
    const parts = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const part of parts.querySelectorAll("[id]")) {
      const place = document.getElementById(part.id);
      if (!place) continue;
      const opened = place.querySelector("details")?.open;
      place.replaceChildren(...part.childNodes);
      if (opened) place.querySelector("details").open = true;
    }
  } catch {
    // Out of reach, or overtaken by the next key: the figures stay as they were.
  }
}

form.addEventListener("input", () => {
  clearTimeout(pause);
  pause = setTimeout(preview, PAUSE_MS);
});

for (const button of form.querySelectorAll("[data-without-script]")) button.remove();
