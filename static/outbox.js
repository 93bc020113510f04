// The outbox: an entry is kept on the phone until the server has it on disk.
//
// A stage's form is not sent by the browser but written here first, then posted
// in order, again and again until the server answers. An entry's id is made
// with the form, so a repeat is one entry. Works over plain HTTP: local storage
// and fetch are all it needs. What was typed is read by the server, in the
// brewer's units; nothing is worked out here.

import { swapIn } from "./swap.js";

const KEY = "gylebook-outbox";
const TWICE_MS = 700;
const ANSWER_MS = 15_000;
const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000];

let sending = false;
let failures = 0;
let timer = 0;

function waiting() {
  try {
    return JSON.parse(localStorage.getItem(KEY)) ?? [];
  } catch {
    return [];
  }
}

function keep(items) {
  localStorage.setItem(KEY, JSON.stringify(items));
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

function isEntry(form) {
  return form.method === "post" && form.elements.namedItem("kind") && form.elements.namedItem("id");
}

/** What a waiting line says: the form's own words and what was typed. */
function told(form, button) {
  const typed = [...form.elements].filter((field) => field.type === "text" && field.value.trim() && field.name !== "at");
  const words = form.closest("[aria-label]")?.getAttribute("aria-label") ?? button?.textContent ?? "";
  return [words.trim(), ...typed.map((field) => field.value.trim())].join(" ");
}

addEventListener("submit", (event) => {
  const form = event.target;
  if (!isEntry(form)) return;
  const now = Date.now();
  if (now - Number(form.dataset.sent ?? 0) < TWICE_MS) {
    event.preventDefault();
    return;
  }
  const data = new FormData(form, event.submitter);
  if (!data.get("at")) data.set("at", new Date(now).toISOString());
  const item = {
    action: new URL(form.action).pathname,
    body: new URLSearchParams(data).toString(),
    id: data.get("id"),
    at: now,
    told: told(form, event.submitter),
  };
  try {
    keep([...waiting(), item]);
  } catch {
    return; // No room on the phone: the browser sends it the plain way.
  }
  event.preventDefault();
  form.dataset.sent = now;
  // The next entry from this form is another one.
  form.elements.namedItem("id").value = uuid();
  const field = form.querySelector(".bar__input");
  if (field) field.value = "";
  send();
});

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
    show();
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
  if (answer.ok || (answer.status === 422 && here)) {
    keep(waiting().filter((other) => other.id !== item.id));
    if (here) swapIn(await answer.text());
  } else {
    keep(waiting().map((other) => (other.id === item.id ? { ...other, refused: answer.status } : other)));
  }
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
    strip.className = "banner banner--hot";
    strip.setAttribute("role", "status");
    document.getElementById("main").prepend(strip);
  }
  const refused = items.filter((item) => item.refused);
  const words = document.createElement("p");
  words.textContent = refused.length
    ? `${refused.length} not taken. Open the page to put it right: ${refused.map((item) => item.told).join("; ")}`
    : `${items.length} waiting to send: ${items.map((item) => item.told).join("; ")}`;
  strip.replaceChildren(words);
  if (refused.length) {
    const open = document.createElement("a");
    open.className = "button button--quiet";
    open.href = refused[0].action;
    open.textContent = "Open it";
    strip.append(open);
  }
}

/** Where a refused entry belongs to this page, sending it again brings its form back. */
function takeUp() {
  keep(waiting().map((item) => (item.action === location.pathname ? { ...item, refused: undefined } : item)));
}

if (waiting().length) takeUp();
addEventListener("online", send);
addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
addEventListener("storage", (event) => event.key === KEY && show());
send();
