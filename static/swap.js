// Puts a fresh copy of this page in the old one's place, without a blink: the
// field one types in keeps the keyboard, the page keeps its place.

const PARTS = [".rim", "#main", ".bar"];

function parse(html) {
  return new DOMParser().parseFromString(html, "text/html");
}

/** Takes a whole page as the answer to what was just done on it. */
export function swapIn(html) {
  const page = parse(html);
  const focused = document.activeElement?.id;
  for (const part of PARTS) {
    const [old, fresh] = [document.querySelector(part), page.querySelector(part)];
    if (old && fresh) old.replaceWith(document.adoptNode(fresh));
    else if (old && part === ".bar") old.remove();
  }
  document.title = page.title;
  const summary = document.querySelector(".summary");
  if (summary) summary.focus();
  else if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}

/** Takes over only what nobody types in: parts marked with `data-live`. */
export function refresh(html) {
  const page = parse(html);
  for (const old of document.querySelectorAll("[data-live]")) {
    const fresh = page.querySelector(`[data-live="${old.dataset.live}"]`);
    if (fresh && !old.contains(document.activeElement)) old.replaceWith(document.adoptNode(fresh));
  }
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}
