// Countdowns from the log's own times, by the server's clock: a reload, a second
// phone or a restart shows the same. At zero a banner that stays until it is
// acknowledged, the page's title, vibration where there is one, and a sound once
// a tap has allowed it (alarm.js). After a lock the banner tells at once what fell
// due meanwhile, and when.
//
//   data-timer="2026-03-07T14:42:00Z"   when it is due
//   data-timer-warn="120"               seconds of warning before
//   data-timer-what="…"                 what the banner says
//   data-counter="2026-03-07T14:42:00Z" counts up from there

import { ring as sound } from "./alarm.js";
import { now } from "./clock.js";

/** Due longer ago than this before the page was opened, it is another day's. */
const STALE_MS = 3 * 3_600_000;
/** Later than this a banner says since when. */
const LATE_MS = 60_000;
const SEEN = "gylebook-seen";
const SEEN_MOST = 60;
const MARK = "● ";
const rung = new Set();
/** The page's own title, while a banner's words stand there. */
let title = document.title;

function clock(ms) {
  const seconds = Math.round(Math.abs(ms) / 1000);
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  const two = (number) => String(number).padStart(2, "0");
  return (hours ? `${hours}:${two(minutes)}` : `${minutes}`) + `:${two(seconds % 60)}`;
}

/** What was acknowledged on this phone: a reload does not ring for it again. */
function seenBefore() {
  try {
    return JSON.parse(localStorage.getItem(SEEN)) ?? [];
  } catch {
    return [];
  }
}

const banners = () => [...document.querySelectorAll(".banner[data-of]")];

function mark() {
  const last = document.querySelector(".banner[data-of] p");
  const words = last ? MARK + last.textContent : title;
  if (document.title !== words) document.title = words;
}

function acknowledge(banner) {
  banner.remove();
  localStorage.setItem(SEEN, JSON.stringify([...seenBefore(), banner.dataset.key].slice(-SEEN_MOST)));
  mark();
}

/** The form that logs what is due, where it can be logged in one tap: gone with the tap,
    as the entry is kept by then (outbox.js). */
function entryOf(element, banner) {
  const form = element.querySelector("form")?.cloneNode(true);
  form?.addEventListener("gylebook:sent", () => acknowledge(banner));
  return form ?? "";
}

function raise(timer, key, words, element) {
  sound();
  // The warning has done its work.
  for (const banner of banners()) if (banner.dataset.of === timer) banner.remove();
  const banner = document.createElement("div");
  Object.assign(banner.dataset, { of: timer, key });
  banner.className = "banner banner--hot";
  banner.setAttribute("role", "alert");
  const said = document.createElement("p");
  said.textContent = words;
  const seen = document.createElement("button");
  seen.className = "button";
  seen.type = "button";
  seen.textContent = "Seen";
  seen.addEventListener("click", () => acknowledge(banner));
  const acts = document.createElement("div");
  acts.className = "banner__acts";
  acts.append(entryOf(element, banner), seen);
  banner.append(said, acts);
  document.getElementById("notices").prepend(banner);
  mark();
}

/** Once for each timer and moment, and not for one that was acknowledged. */
function once(timer, step, words, element) {
  const key = `${step} ${timer}`;
  if (rung.has(key)) return;
  rung.add(key);
  if (!seenBefore().includes(key)) raise(timer, key, words, element);
}

function left(element) {
  let span = element.querySelector(".timers__left");
  if (!span) {
    span = document.createElement("b");
    span.className = "timers__left";
    element.prepend(span, " ");
  }
  return span;
}

function count(element, running) {
  const { timer: at, timerWhat: what = "Time is up", timerWarn: warn } = element.dataset;
  const timer = at + what;
  const ms = Date.parse(at) - now();
  if (Number.isNaN(ms) || ms < -STALE_MS) return;
  running.add(timer);
  const told = element.querySelector("time")?.textContent ?? "";
  left(element).textContent = ms > 0 ? `in ${clock(ms)}` : ms > -LATE_MS ? "now" : `${clock(ms)} ago`;
  if (ms <= -LATE_MS) once(timer, "due", `${what}: ${told}, ${Math.round(-ms / 60_000)} min ago`, element);
  else if (ms <= 0) once(timer, "due", what, element);
  else if (warn && ms <= warn * 1000) once(timer, "soon", `${what} at ${told}`, element);
}

function tick() {
  const running = new Set();
  for (const element of document.querySelectorAll("[data-timer]")) count(element, running);
  for (const element of document.querySelectorAll("[data-counter]")) {
    left(element).textContent = clock(now() - Date.parse(element.dataset.counter));
  }
  // What was logged is no longer waited for.
  for (const banner of banners()) if (!running.has(banner.dataset.of)) banner.remove();
  mark();
}

tick();
setInterval(tick, 500);
addEventListener("visibilitychange", tick);
addEventListener("pageshow", tick);
addEventListener("gylebook:swapped", () => {
  if (!document.title.startsWith(MARK)) title = document.title;
  tick();
});
