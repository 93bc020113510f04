// Drafts: what is typed in any form of the book is kept on this phone until it is
// saved. A closed tab, a reload, a step back or a server gone for a while loses
// nothing. A line over the form says from when it is, and puts it aside again.
//
// A draft holds only what differs from what the server gave, and what that was.
// Where the server gives something else by now, an old draft is offered, not put in.

import { fieldsOf, givenTo, keyOf, put, textOf } from "./fields.js";
import { withRows } from "./rows.js";

const KEY = "gylebook-draft/";
/** Which draft this tab has just sent to be saved. */
const SENT = "gylebook-draft-sent";
const KEPT_MS = 30 * 86_400_000;
/** On a page that keeps nothing yet: a form that came back, a refusal. */
const UNKEPT = ".summary, [data-unkept]";
/** Buttons that ask for another look at the form: rows, figures. */
const SAVE_NOTHING = ["row", "figures"];

/** The rows each form came with. A swap may bring new forms. */
const came = new WeakMap();
/** The forms whose draft is what stands in them. */
const active = new WeakSet();

/** By where it is saved, so that the page it comes back on finds it as well. */
function keyOfForm(form) {
  const action = new URL(form.getAttribute("action") ?? "", location.href).pathname;
  const told = (name) => form.elements.namedItem(name)?.value;
  return KEY + [action, form.getAttribute("method"), told("form") ?? form.querySelector("[type=hidden][name=kind]")?.value].join(" ");
}

function read(key, store = localStorage) {
  try {
    return JSON.parse(store.getItem(key));
  } catch {
    return null;
  }
}

function write(key, draft) {
  try {
    localStorage.setItem(key, JSON.stringify(draft));
  } catch {
    // No room on the phone: what is typed stands on the page alone.
  }
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** Which rows each list of a form has: `{ hops: ["0", "2"] }`. */
function rowsOf(form) {
  const lists = [...form.querySelectorAll("[data-rows]")].map((list) => {
    const places = [...list.querySelectorAll('[name*="."]')].map((field) => field.name.split(".")[1]);
    return [list.dataset.rows, [...new Set(places)]];
  });
  return Object.fromEntries(lists);
}

/** Keeps what differs from what the server gave; nothing, where nothing does. */
function save(form) {
  const key = keyOfForm(form);
  const begun = active.has(form) ? read(key) : null;
  const draft = { at: Date.now(), typed: {}, given: {}, rows: rowsOf(form), came: begun?.came ?? came.get(form) };
  for (const field of fieldsOf(form)) {
    const name = keyOf(field);
    const given = begun?.given[name] ?? givenTo(field);
    if (textOf(field) === given) continue;
    draft.typed[name] = textOf(field);
    draft.given[name] = given;
  }
  active.add(form);
  if (same(draft.typed, {}) && same(draft.rows, draft.came)) localStorage.removeItem(key);
  else if (!same(draft.typed, begun?.typed) || !same(draft.rows, begun?.rows)) write(key, draft);
}

/** Whether the server still gives what it gave when the draft was begun. */
function isOfThisPage(form, draft) {
  const fields = new Map(fieldsOf(form).map((field) => [keyOf(field), field]));
  const isAsGiven = ([name, given]) => !fields.has(name) || givenTo(fields.get(name)) === given;
  return same(came.get(form), draft.came) && Object.entries(draft.given).every(isAsGiven);
}

/** Whether it was saved after all: everything typed is what the server gives now. */
function isSaved(form, draft) {
  const given = Object.fromEntries(fieldsOf(form).map((field) => [keyOf(field), givenTo(field)]));
  return same(came.get(form), draft.rows) && Object.entries(draft.typed).every(([name, text]) => given[name] === text);
}

function fill(form, draft) {
  withRows(form, draft.rows);
  for (const field of fieldsOf(form)) {
    const text = draft.typed[keyOf(field)];
    if (text === undefined) continue;
    put(field, text);
    // What is folded away is easily taken for not there.
    for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  }
  active.add(form);
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function clock(draft) {
  const at = new Date(draft.at);
  const time = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const isToday = at.toDateString() === new Date().toDateString();
  return isToday ? time : `${at.toLocaleDateString("en-GB", { day: "numeric", month: "long" })}, ${time}`;
}

/** The line over a form: what it says, and the one thing to do about it. */
function tell(form, words, act, does) {
  hush(form);
  const line = document.createElement("p");
  line.className = "draft";
  line.dataset.own = "draft";
  line.setAttribute("role", "status");
  const button = document.createElement("button");
  button.className = "button button--plain";
  button.type = "button";
  button.textContent = act;
  button.addEventListener("click", does);
  line.append(words, " ", button);
  form.prepend(line);
}

const hush = (form) => form.querySelector(":scope > .draft")?.remove();

function putIn(form, draft) {
  fill(form, draft);
  tell(form, `Kept from ${clock(draft)}.`, "Discard", () => {
    const aside = { ...draft, aside: true };
    write(keyOfForm(form), aside);
    active.delete(form);
    // Rows that were taken out have to come from the server again.
    if (!same(rowsOf(form), came.get(form))) location.reload();
    form.reset();
    offer(form, aside, "Put aside");
  });
}

function offer(form, draft, why) {
  tell(form, `${why}: what you typed at ${clock(draft)}.`, "Put it back", () => {
    // What stands there now is what it is held against from here on.
    const given = fieldsOf(form).map((field) => [keyOf(field), givenTo(field)]).filter(([name]) => name in draft.typed);
    const back = { ...draft, aside: false, given: Object.fromEntries(given), came: came.get(form) };
    write(keyOfForm(form), back);
    putIn(form, back);
  });
}

/** Looks after a form: puts its draft in, or offers it. */
function restore(form) {
  if (came.has(form)) return;
  came.set(form, rowsOf(form));
  const draft = read(keyOfForm(form));
  if (!draft) return;
  if (form.querySelector("[aria-invalid]") || document.querySelector(UNKEPT)) {
    // It came back as it was typed: the draft is kept up from here.
    active.add(form);
    save(form);
  } else if (isSaved(form, draft)) localStorage.removeItem(keyOfForm(form));
  else if (draft.aside) offer(form, draft, "Put aside");
  else if (isOfThisPage(form, draft)) putIn(form, draft);
  else offer(form, draft, "This page has changed since");
}

/** What this tab sent is saved once a page came of it that does not ask again. */
function settle() {
  const sent = read(SENT, sessionStorage);
  sessionStorage.removeItem(SENT);
  const [visit] = performance.getEntriesByType("navigation");
  // Opened anew or gone back to, this page is no answer to what was sent.
  const isAnswer = document.referrer === sent?.from && visit?.type !== "back_forward";
  if (isAnswer && !document.querySelector(UNKEPT)) localStorage.removeItem(sent.key);
}

function tidy() {
  const isOld = (key) => key.startsWith(KEY) && Date.now() - (read(key)?.at ?? 0) > KEPT_MS;
  for (const key of Object.keys(localStorage).filter(isOld)) localStorage.removeItem(key);
}

function typed(event) {
  const form = event.target.form ?? event.target.closest?.("form");
  if (form && came.has(form)) save(form);
}

tidy();
settle();
addEventListener("input", typed);
addEventListener("change", typed);
addEventListener("submit", (event) => {
  if (event.defaultPrevented || SAVE_NOTHING.includes(event.submitter?.name)) return;
  sessionStorage.setItem(SENT, JSON.stringify({ key: keyOfForm(event.target), from: location.href.split("#")[0] }));
});
addEventListener("gylebook:sent", (event) => {
  localStorage.removeItem(keyOfForm(event.target));
  active.delete(event.target);
  hush(event.target);
});
addEventListener("gylebook:swapped", () => [...document.forms].forEach(restore));
[...document.forms].forEach(restore);
