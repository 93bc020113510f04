// Countdowns from the log's own times: a reload, a second phone or a restart
// shows the same. At zero: a banner that stays until acknowledged, the page's
// title, a sound once a first tap has allowed it, vibration where there is one.
//
//   data-timer="2026-03-07T14:42:00Z"   when it is due
//   data-timer-warn="120"               seconds of warning before
//   data-timer-what="…"                 what the banner says
//   data-counter="2026-03-07T14:42:00Z" counts up from there

const LATE_MS = 10 * 60_000;
const SEEN = "gylebook-seen";
const SEEN_MOST = 60;
const MARK = "● ";
const rung = new Set();
/** The page's own title, while a banner's words stand there. */
let title = document.title;
let sound;

addEventListener("pointerdown", () => (sound ??= new AudioContext()), { once: true });

function clock(ms) {
  const seconds = Math.round(Math.abs(ms) / 1000);
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  const two = (number) => String(number).padStart(2, "0");
  return (hours ? `${hours}:${two(minutes)}` : `${minutes}`) + `:${two(seconds % 60)}`;
}

function beep() {
  navigator.vibrate?.([300, 150, 300]);
  if (!sound) return;
  [0, 0.35, 0.7].forEach((start) => {
    const tone = sound.createOscillator();
    const level = sound.createGain();
    tone.frequency.value = 880;
    level.gain.value = 0.2;
    tone.connect(level).connect(sound.destination);
    tone.start(sound.currentTime + start);
    tone.stop(sound.currentTime + start + 0.22);
  });
}

/** What was acknowledged on this phone: a reload does not ring for it again. */
function seenBefore() {
  try {
    return JSON.parse(localStorage.getItem(SEEN)) ?? [];
  } catch {
    return [];
  }
}

/** Takes away the banners of timers that are over and done with. */
function forget(isOver) {
  for (const banner of document.querySelectorAll(".banner[data-of]")) {
    if (isOver(banner.dataset.of)) banner.remove();
  }
  mark();
}

function mark() {
  const last = document.querySelector(".banner[role=alert] p");
  const words = last ? MARK + last.textContent : title;
  if (document.title !== words) document.title = words;
}

function ring(timer, key, words) {
  beep();
  forget((of) => of === timer);
  const banner = document.createElement("div");
  banner.dataset.of = timer;
  banner.className = "banner banner--hot banner--stays";
  banner.setAttribute("role", "alert");
  const said = document.createElement("p");
  said.textContent = words;
  const seen = document.createElement("button");
  seen.className = "button";
  seen.type = "button";
  seen.textContent = "Seen";
  seen.addEventListener("click", () => {
    banner.remove();
    localStorage.setItem(SEEN, JSON.stringify([...seenBefore(), key].slice(-SEEN_MOST)));
    mark();
  });
  banner.append(said, seen);
  document.body.prepend(banner);
  mark();
}

/** Rings once for each timer and moment, and not for what was over long before. */
function once(timer, step, late, words) {
  const key = `${step} ${timer}`;
  if (rung.has(key)) return;
  rung.add(key);
  if (late < LATE_MS && !seenBefore().includes(key)) ring(timer, key, words);
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

function tick() {
  const now = Date.now();
  const running = new Set();
  for (const element of document.querySelectorAll("[data-timer]")) {
    const due = Date.parse(element.dataset.timer);
    if (Number.isNaN(due)) continue;
    const { timerWhat: what = "Time is up", timerWarn: warn } = element.dataset;
    const timer = element.dataset.timer + what;
    running.add(timer);
    const ms = due - now;
    left(element).textContent = ms > 0 ? `in ${clock(ms)}` : ms > -LATE_MS ? "now" : "";
    if (ms <= 0) once(timer, "due", -ms, what);
    else if (warn && ms <= warn * 1000) once(timer, "soon", 0, `${what} at ${element.querySelector("time").textContent}`);
  }
  for (const element of document.querySelectorAll("[data-counter]")) {
    left(element).textContent = clock(now - Date.parse(element.dataset.counter));
  }
  // What was logged is no longer waited for.
  forget((timer) => !running.has(timer));
}

tick();
setInterval(tick, 500);
addEventListener("visibilitychange", tick);
addEventListener("gylebook:swapped", () => {
  if (!document.title.startsWith(MARK)) title = document.title;
  mark();
  tick();
});
