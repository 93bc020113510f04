// Puts a fresh copy of this page in the old one's place, without a blink. What is
// the same stays where it is, what was folded open stays open, and a form that a
// person has begun is left entirely alone: its words, its focus and its selection.

import { hear } from "./clock.js";
import { isBegun, isInUse } from "./fields.js";

const PARTS = [".rim", "#main", ".bar"];
/** Made by scripts: no copy of the page has it. */
const OWN = "[data-own]";
/** Said about this phone's own last entry: what others do leaves it standing. */
const OWN_WORDS = `${OWN}, .saved, .summary`;

/** How the server last gave a <details>: a person's own folding differs from it. */
const served = new WeakMap();
/** While a page is taken over: the form it answers, what is in hand, what stays. */
let sent = null;
let begun = [];
let staying = OWN;

function parse(html) {
  const page = new DOMParser().parseFromString(html, "text/html");
  hear(page.documentElement.dataset.now);
  return page;
}

/** What an element is known by from one copy of the page to the next. By attribute:
    a form's own field called `id` would stand in front of its id. */
function name(element) {
  const form = element.localName === "form" && element.elements.namedItem("form")?.value;
  return element.getAttribute("id") || form || `${element.classList[0]} ${element.ariaLabel}`;
}

const alike = (one, other) => one.localName === other.localName && name(one) === name(other);
const hasWords = (element) => [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
const isInHand = (element) => begun.some((form) => element.contains(form));

function fold(old, fresh) {
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

function change(old, fresh) {
  if (begun.includes(old) || (old.isEqualNode(fresh) && old.localName !== "details")) return;
  if (isInHand(old)) {
    children(old, fresh);
    return;
  }
  // A picture is drawn anew; a form called up by its link is done with once it is sent.
  if (old.localName === "svg" || (sent && old.matches(":target") && old.contains(sent))) {
    old.replaceWith(document.adoptNode(fresh));
    return;
  }
  if (old.localName === "details") fold(old, fresh);
  attributes(old, fresh);
  // Words with a link or a figure among them hold nothing a person could lose.
  if (hasWords(old) || hasWords(fresh)) old.replaceChildren(...fresh.childNodes);
  else children(old, fresh);
}

/** Goes through both in order: takes out what is gone, puts in what is new, changes the rest. */
function children(old, fresh) {
  const coming = [...fresh.children];
  let here = passed(old.firstElementChild);
  for (let child = coming.shift(); child; child = coming.shift()) {
    while (here && !alike(here, child) && !coming.some((later) => alike(here, later))) here = takenOut(here);
    if (here && alike(here, child)) {
      const next = passed(here.nextElementSibling);
      change(here, child);
      here = next;
    } else {
      old.insertBefore(document.adoptNode(child), here);
    }
  }
  while (here) here = takenOut(here);
}

/** The element, or the next that a copy of the page has too. */
function passed(element) {
  let here = element;
  while (here?.matches(staying)) here = here.nextElementSibling;
  return here;
}

/** Takes out an element, unless it is in somebody's hands, and gives back the next. */
function takenOut(element) {
  const next = passed(element.nextElementSibling);
  if (!isInHand(element)) element.remove();
  return next;
}

function note() {
  for (const details of document.querySelectorAll("details")) {
    if (!served.has(details)) served.set(details, details.open);
  }
}

function takeOver(page) {
  // A page in parts, or what tells of the batch inside a form one types in.
  const places = page.getElementById("main") ? PARTS.map((part) => [part, part]) : [];
  for (const live of document.querySelectorAll("[data-live]")) {
    const part = `[data-live="${live.dataset.live}"]`;
    if (places.length === 0 || isInHand(live.closest("form") ?? document.head)) places.push([part, part]);
  }
  for (const [part] of places) {
    const [old, fresh] = [document.querySelector(part), page.querySelector(part)];
    if (old && fresh) change(old, fresh);
    else if (fresh && part === ".bar") document.getElementById("book").before(document.adoptNode(fresh));
    else if (old && part === ".bar" && !isInHand(old)) old.remove();
  }
  note();
}

/** Takes a whole page as the answer to the form that was just sent on it: saved, and
    something else may be begun in it by now; or coming back to be put right. */
export function swapIn(html, scope, isComingBack = false) {
  const page = parse(html);
  sent = formOf(scope);
  const hadFocus = sent?.contains(document.activeElement);
  staying = OWN;
  begun = [...document.forms].filter((form) => (form === sent ? !isComingBack && isBegun(form) : isInUse(form)));
  takeOver(page);
  sent = null;
  document.title = page.title;
  document.querySelector(".summary")?.focus();
  // Undo goes with what it undid: whoever pressed it by a key goes on from the top.
  if (hadFocus && document.activeElement === document.body) document.getElementById("main").focus({ preventScroll: true });
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}

/** Takes over what others did: a whole page, or its parts marked with `data-live`. */
export function refresh(html) {
  staying = OWN_WORDS;
  begun = [...document.forms].filter(isInUse);
  takeOver(parse(html));
  dispatchEvent(new CustomEvent("gylebook:swapped"));
}

/** The form of this page that goes by a name. */
export function formOf(scope) {
  return [...document.forms].find((form) => form.elements.namedItem("form")?.value === scope) ?? null;
}

note();
