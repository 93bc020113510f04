// The outbox: an entry is kept on the phone until the server has it on disk.
//
// A stage's form is not sent by the browser but written here first, then posted
// in order, again and again until the server names the entry as saved. An entry's
// id is made with the form, so a repeat is one entry. What the server refuses
// stays here too, with its reason, until it is put right. Works over plain HTTP:
// local storage and fetch are all it needs. What was typed is read by the server,
// in the brewer's units; nothing is worked out here.

import { fieldsOf, isBegun, isTouched } from "./fields.js";
import { formOf, swapIn } from "./swap.js";
import { show } from "./waiting.js";

/** Each entry has a key of its own, so that two tabs never write over each other's. */
const KEY = "gylebook-outbox/";
const TWICE_MS = 700;
const ANSWER_MS = 15_000;
const TOKEN = "form_token";
const NOT_LET_IN = 401;
const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000];
/** How long what was thrown away can still be taken back. */
const GONE_MS = 30 * 86_400_000;
/** Not the entry's fault: who asks, how often, or under which name. */
const LATER = [401, 403, 408, 421, 425, 429];

/** When each form of the page was sent last: a swap makes it anew, a double tap does not. */
const sent = new Map();
let sending = false;
/** Whether this device was let in no more. */
let isOut = false;
let failures = 0;
let timer = 0;

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function all() {
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(KEY));
  const items = keys.map(read).filter(Boolean);
  return items.sort((one, other) => one.turn - other.turn || one.at - other.at);
}

function tell() {
  show(all(), { isAway: failures > 0, isOut, putRight, throwAway, takeBack });
}

function keep(item) {
  localStorage.setItem(KEY + item.id, JSON.stringify(item));
  tell();
}

/** Changes an entry that is still here: another tab may have sent it by now. */
function mark(id, changes) {
  const item = read(KEY + id);
  if (item) keep({ ...item, ...changes });
}

function drop(item) {
  localStorage.removeItem(KEY + item.id);
  tell();
}

/** A random UUID: `crypto.randomUUID` is missing on a plain-HTTP address. */
function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// By attribute: a form's own field called `method` or `id` would stand in front.
function isEntry(form) {
  const has = (name) => form.elements.namedItem(name);
  return form?.getAttribute("method") === "post" && has("form") && has("kind") && has("id");
}

/** What a waiting line says: the form's own words and what was typed. */
function told(form, button) {
  const typed = fieldsOf(form).filter((field) => /^text/.test(field.type) && field.value.trim() && field.name !== "at");
  const title = form.closest("form[aria-label], .panel, .call")?.ariaLabel ?? button?.textContent ?? "";
  return [title.trim(), ...typed.map((field) => field.value.trim())].join(" ");
}

/** Makes a form ready for the next entry, which is another one. */
function clear(form) {
  form.elements.namedItem("id").value = uuid();
  form.reset();
  for (const field of form.querySelectorAll(".bar__input, [aria-invalid]")) {
    field.defaultValue = "";
    field.removeAttribute("aria-invalid");
  }
  // The keypad stays up for the next reading.
  if (form.contains(document.activeElement)) form.querySelector(".bar__input")?.focus({ preventScroll: true });
  form.dispatchEvent(new CustomEvent("gylebook:sent", { bubbles: true }));
}

/** What is sent, as the server is to read it whenever that may be. */
function bodyOf(form, button, at) {
  const data = new FormData(form, button);
  // Set back by steps, or not at all: counted from the tap.
  const isExact = !data.has("ago") || data.get("ago") === "exact";
  if (!isExact || !data.get("at")) data.set("at", new Date(at).toISOString());
  data.set("typed_at", at);
  return data;
}

addEventListener("submit", (event) => {
  const form = event.target;
  if (!isEntry(form)) return;
  const reading = form.querySelector(".bar__input");
  if (reading && !reading.value.trim()) {
    // Nothing was read yet: the keypad comes up for it.
    event.preventDefault();
    reading.focus();
    return;
  }
  const now = Date.now();
  const scope = form.elements.namedItem("form").value;
  if (now - (sent.get(scope) ?? 0) < TWICE_MS && !isTouched(form)) {
    event.preventDefault();
    return;
  }
  const id = form.elements.namedItem("id").value;
  // One that is put right keeps its time and its turn.
  const before = read(KEY + id);
  const at = before?.at ?? now;
  const turn = before?.turn ?? Math.max(0, ...all().map((item) => item.turn)) + 1;
  const action = new URL(form.getAttribute("action"), location.href).pathname;
  const body = new URLSearchParams(bodyOf(form, event.submitter, at)).toString();
  try {
    keep({ id, turn, at, scope, action, body, told: told(form, event.submitter) });
  } catch {
    return; // No room on the phone: the browser sends it the plain way.
  }
  event.preventDefault();
  sent.set(scope, now);
  clear(form);
  send();
});

// The second tap of a double tap may meet another button that came in the first one's place.
addEventListener(
  "click",
  (event) => {
    const button = event.target.closest?.("button");
    if (event.detail > 1 && button?.type === "submit" && button.form && isEntry(button.form)) event.preventDefault();
  },
  { capture: true },
);

async function send() {
  clearTimeout(timer);
  // Who pairs this device just now is let in by the next page.
  if (sending || location.pathname.startsWith("/pair")) return;
  sending = true;
  try {
    for (let item = next(); item; item = next()) {
      await post(item);
      failures = 0;
    }
  } catch {
    timer = setTimeout(send, AGAIN_MS[Math.min(failures++, AGAIN_MS.length - 1)]);
  } finally {
    sending = false;
    tell();
  }
}

const next = () => all().find((item) => !item.refused && !item.gone);

/** Posts one entry; throws where it has to be tried again. */
async function post(item) {
  const body = new URLSearchParams(item.body);
  body.set("sent_at", Date.now());
  const answer = await fetch(item.action, { method: "POST", body, signal: AbortSignal.timeout(ANSWER_MS) });
  const isHere = location.pathname === item.action;
  isOut = answer.status === NOT_LET_IN;
  if (answer.status === 403) {
    // The device was paired anew since: the answer brings a token that counts.
    const token = renewed(await answer.clone().text());
    if (token && token !== body.get(TOKEN)) {
      body.set(TOKEN, token);
      mark(item.id, { body: body.toString() });
      return;
    }
  }
  if (answer.ok) {
    // Only an answer that names the entry has it: a stranger's page between us and the book does not.
    if (new URL(answer.url).searchParams.get("saved") !== item.id) throw new Error("not the book");
    if (isHere) swapIn(await answer.text(), item.scope);
    drop(item);
    return;
  }
  // A redirect that was cut short on its way leads to an address nobody has.
  if (answer.redirected || answer.status >= 500 || LATER.includes(answer.status)) throw new Error(answer.statusText);
  const page = await answer.text();
  const form = isHere && answer.status === 422 && formOf(item.scope);
  mark(item.id, { refused: answer.status, why: whyOf(page), wanted: undefined });
  if (!form || (isBegun(form) && !item.wanted)) return;
  form.reset();
  swapIn(page, item.scope, true);
}

/** The token in a page that asks for a form to be sent again. */
function renewed(page) {
  const again = new DOMParser().parseFromString(page, "text/html").querySelector("form[data-again]");
  return again?.querySelector(`[name=${TOKEN}]`)?.value;
}

/** What the server says is wrong, in its own sentences. */
function whyOf(page) {
  const lines = new DOMParser().parseFromString(page, "text/html").querySelectorAll(".summary__list li, [data-unkept] > p");
  return [...lines].map((line) => line.textContent.trim().replace(/\s+/g, " ")).join(" ");
}

/** Asks for the form of a refused entry again: the server fills it in and says what is wrong. */
function putRight(item) {
  mark(item.id, { refused: undefined, wanted: true });
  send();
}

function throwAway(item) {
  mark(item.id, { gone: Date.now() });
}

function takeBack(item) {
  mark(item.id, { gone: undefined });
}

for (const item of all()) {
  if (item.gone && Date.now() - item.gone > GONE_MS) drop(item);
}
// The first one this page refused comes back into its form; the others stay in the list.
const first = all().find((item) => item.refused && !item.gone && item.action === location.pathname);
if (first) mark(first.id, { refused: undefined });
addEventListener("online", send);
addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
addEventListener("storage", (event) => event.key?.startsWith(KEY) && tell());
tell();
send();
