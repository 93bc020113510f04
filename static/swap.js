// Puts a fresh copy of this page in the old one's place, without a blink. What
// is the same stays where it is, so the field one types in keeps the keyboard
// and its half-typed number, and what was folded open stays open.

const PARTS = [".rim", "#main", ".bar"];

/** How the server last gave a <details>: a person's own folding differs from it. */
const served = new WeakMap();

function parse(html) {
  return new DOMParser().parseFromString(html, "text/html");
}

/** What an element is known by from one copy of the page to the next. By attribute:
    a form's own field called `id` would stand in front of its id. */
function name(element) {
  const form = element.localName === "form" && element.elements.namedItem("form")?.value;
  return element.getAttribute("id") || form || `${element.classList[0]} ${element.ariaLabel}`;
}

const alike = (one, other) => one.localName === other.localName && name(one) === name(other);

const hasWords = (element) => [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());

function fold(old, fresh, sent) {
  const given = served.get(old) ?? old.open;
  const isOwn = old.open !== given && !old.contains(sent);
  served.set(old, fresh.open);
  if (!isOwn) old.open = fresh.open;
}

function attributes(old, fresh) {
  for (const { name } of [...old.attributes]) {
    if (!fresh.hasAttribute(name) && !(name === "open" && old.localName === "details")) old.removeAttribute(name);
  }
  for (const { name, value } of fresh.attributes) {
    if (name === "open" && old.localName === "details") continue;
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
}

function change(old, fresh, sent) {
  if (old.isEqualNode(fresh) && old.localName !== "details") return;
  // A picture is drawn anew; a form called up by its link is done with once it is sent.
  if (old.localName === "svg" || (sent && old.matches(":target") && old.contains(sent))) {
    old.replaceWith(document.adoptNode(fresh));
    return;
  }
  if (old.localName === "details") fold(old, fresh, sent);
  attributes(old, fresh);
  // Words with a link or a figure among them hold nothing a person could lose.
  if (hasWords(old) || hasWords(fresh)) old.replaceChildren(...fresh.childNodes);
  else children(old, fresh, sent);
}

/** Goes through both in order: takes out what is gone, puts in what is new, changes the rest. */
function children(old, fresh, sent) {
  const coming = [...fresh.children];
  let here = old.firstElementChild;
  for (let child = coming.shift(); child; child = coming.shift()) {
    while (here && !alike(here, child) && !coming.some((later) => alike(here, later))) here = takenOut(here);
    if (here && alike(here, child)) {
      const next = here.nextElementSibling;
      change(here, child, sent);
      here = next;
    } else {
      old.insertBefore(document.adoptNode(child), here);
    }
  }
  while (here) here = takenOut(here);
}

/** Takes out an element and gives back the next. */
function takenOut(element) {
  const next = element.nextElementSibling;
  element.remove();
  return next;
}

function note() {
  for (const details of document.querySelectorAll("details")) {
    if (!served.has(details)) served.set(details, details.open);
  }
}

/** Takes a whole page as the answer to the form that was just sent on it. */
export function swapIn(html, scope) {
  const page = parse(html);
  const sent = [...document.forms].find((form) => form.elements.namedItem("form")?.value === scope) ?? null;
  // What came back to be looked at again is kept as if it were typed just now.
  for (const field of document.querySelectorAll("form:has([aria-invalid]) input[type=text]")) {
    if (field.form !== sent) field.value = `${field.value}`;
  }
  for (const part of PARTS) {
    const [old, fresh] = [document.querySelector(part), page.querySelector(part)];
    if (old && fresh) change(old, fresh, sent);
    else if (fresh) document.getElementById("book").before(document.adoptNode(fresh));
    else if (old && part === ".bar") old.remove();
  }
  note();
  document.title = page.title;
  document.querySelector(".summary")?.focus();
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}

/** Takes over only what nobody types in: parts marked with `data-live`. */
export function refresh(html) {
  const page = parse(html);
  for (const old of document.querySelectorAll("[data-live]")) {
    const fresh = page.querySelector(`[data-live="${old.dataset.live}"]`);
    if (fresh) change(old, fresh, null);
  }
  note();
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}

note();
