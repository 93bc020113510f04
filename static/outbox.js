// The outbox: an entry is kept on the phone until the server has it on disk.
//
// A stage's form is not sent by the browser but written here first, then posted
// in order, again and again until the server answers. An entry's id is made
// with the form, so a repeat is one entry. Works over plain HTTP: local storage
// and fetch are all it needs. What was typed is read by the server, in the
// brewer's units; nothing is worked out here.

import { swapIn } from "./swap.js";

/** Each entry has a key of its own, so that two tabs never write over each other's. */
const KEY = "gylebook-outbox/";
const TWICE_MS = 700;
const ANSWER_MS = 15_000;
const TOKEN = "form_token";
const NOT_LET_IN = 401;
const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000];

/** When each form of the page was sent last: a swap makes it anew, a double tap does not. */
const sent = new Map();
let sending = false;
let failures = 0;
let timer = 0;

function waiting() {
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(KEY));
  const items = keys.map((key) => JSON.parse(localStorage.getItem(key))).filter(Boolean);
  return items.sort((one, other) => one.at - other.at);
}

function keep(item) {
  localStorage.setItem(KEY + item.id, JSON.stringify(item));
  show();
}

function drop(item) {
  localStorage.removeItem(KEY + item.id);
  show();
}

/** A random UUID: `crypto.randomUUID` is missing on a plain-HTTP address. */
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// By attribute: a form's own field called `method` or `id` would stand in front.
function isEntry(form) {
  return form?.getAttribute("method") === "post" && form.elements.namedItem("kind") && form.elements.namedItem("id");
}

const isTyped = (form) => [...form.elements].some((field) => field.type === "text" && field.value !== field.defaultValue);

/** What a waiting line says: the form's own words and what was typed. */
function told(form, button) {
  const typed = [...form.elements].filter((field) => field.type === "text" && field.value.trim() && field.name !== "at");
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
}

addEventListener("submit", (event) => {
  const form = event.target;
  if (!isEntry(form)) return;
  const now = Date.now();
  const data = new FormData(form, event.submitter);
  const scope = data.get("form");
  if (now - (sent.get(scope) ?? 0) < TWICE_MS && !isTyped(form)) {
    event.preventDefault();
    return;
  }
  if (!data.get("at")) data.set("at", new Date(now).toISOString());
  const action = new URL(form.getAttribute("action"), location.href).pathname;
  const body = new URLSearchParams(data).toString();
  try {
    keep({ id: data.get("id"), at: now, action, body, told: told(form, event.submitter) });
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
    if (event.detail > 1 && button?.type === "submit" && isEntry(button.form)) event.preventDefault();
  },
  { capture: true },
);

async function send() {
  clearTimeout(timer);
  if (sending) return;
  sending = true;
  try {
    for (let item = next(); item; item = next()) await post(item);
    failures = 0;
  } catch {
    timer = setTimeout(send, AGAIN_MS[Math.min(failures++, AGAIN_MS.length - 1)]);
  } finally {
    sending = false;
  }
}

const next = () => waiting().find((item) => !item.refused);

/** Posts one entry; throws where the server did not answer and it has to be tried again. */
async function post(item) {
  const body = new URLSearchParams(item.body);
  body.set("sent_at", Date.now());
  const answer = await fetch(item.action, { method: "POST", body, signal: AbortSignal.timeout(ANSWER_MS) });
  if (answer.status >= 500 || answer.status === 429) throw new Error(answer.statusText);
  const here = location.pathname === item.action;
  if (answer.status === 403) {
    // The device was paired anew since: the answer brings a token that counts.
    const token = renewed(await answer.clone().text());
    if (token && token !== body.get(TOKEN)) {
      body.set(TOKEN, token);
      keep({ ...item, body: body.toString() });
      return;
    }
  }
  if (answer.ok || (answer.status === 422 && here)) {
    const page = await answer.text();
    if (here) swapIn(page, body.get("form"));
    drop(item);
  } else {
    keep({ ...item, refused: answer.status });
  }
}

/** The token in a page that asks for a form to be sent again. */
function renewed(html) {
  const page = new DOMParser().parseFromString(html, "text/html");
  return page.querySelector(`form[data-again] [name=${TOKEN}]`)?.value;
}

/** The strip that says what is not sent yet, until it is true no longer. */
function show() {
  const items = waiting();
  let strip = document.getElementById("waiting");
  if (items.length === 0) {
    strip?.remove();
    return;
  }
  if (!strip) {
    strip = document.createElement("div");
    strip.id = "waiting";
    strip.className = "banner banner--hot banner--stays";
    strip.setAttribute("role", "status");
    document.getElementById("main").before(strip);
  }
  const refused = items.filter((item) => item.refused);
  const isOut = refused.some((item) => item.refused === NOT_LET_IN);
  const words = document.createElement("p");
  words.textContent = isOut
    ? `${items.length} waiting: this device is not let in. Pair it, and they are sent: ${items.map((item) => item.told).join("; ")}`
    : refused.length
    ? `${refused.length} not taken. Open the page to put it right: ${refused.map((item) => item.told).join("; ")}`
    : `${items.length} waiting to send: ${items.map((item) => item.told).join("; ")}`;
  strip.replaceChildren(words);
  if (refused.length) {
    const open = document.createElement("a");
    open.className = "button button--quiet";
    open.href = isOut ? "/pair" : refused[0].action;
    open.textContent = isOut ? "Pair it" : "Open it";
    strip.append(open);
  }
}

// Where a refused entry belongs to this page, sending it again brings its form back.
// One that was not let in is sent from any page but the one that pairs the device.
const isPairing = location.pathname.startsWith("/pair");
for (const item of waiting()) {
  const here = item.action === location.pathname || (item.refused === NOT_LET_IN && !isPairing);
  if (item.refused && here) keep({ ...item, refused: undefined });
}
addEventListener("online", send);
addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
addEventListener("storage", (event) => event.key?.startsWith(KEY) && show());
show();
send();
