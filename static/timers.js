// Countdowns from the log's own times: a reload, a second phone or a restart
// shows the same. At zero: a banner that stays until acknowledged, the page's
// title, a sound once a first tap has allowed it, vibration where there is one.
//
//   data-timer="2026-03-07T14:42:00Z"   when it is due
//   data-timer-warn="120"               seconds of warning before
//   data-timer-what="…"                 what the banner says
//   data-counter="2026-03-07T14:42:00Z" counts up from there

const LATE_MS = 10 * 60_000;
const rung = new Set();
const title = document.title;
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

function ring(words) {
  beep();
  document.title = `● ${words}`;
  const banner = document.createElement("div");
  banner.className = "banner banner--hot";
  banner.setAttribute("role", "alert");
  const said = document.createElement("p");
  said.textContent = words;
  const seen = document.createElement("button");
  seen.className = "button";
  seen.type = "button";
  seen.textContent = "Seen";
  seen.addEventListener("click", () => {
    banner.remove();
    document.title = title;
  });
  banner.append(said, seen);
  document.body.prepend(banner);
}

/** Rings once for each timer and moment, and not for what was over long before. */
function once(key, late, words) {
  if (rung.has(key)) return;
  rung.add(key);
  if (late < LATE_MS) ring(words);
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
  for (const element of document.querySelectorAll("[data-timer]")) {
    const due = Date.parse(element.dataset.timer);
    if (Number.isNaN(due)) continue;
    const { timerWhat: what = "Time is up", timerWarn: warn } = element.dataset;
    const ms = due - now;
    left(element).textContent = ms > 0 ? `in ${clock(ms)}` : ms > -LATE_MS ? "now" : "";
    if (ms <= 0) once(element.dataset.timer + what, -ms, what);
    else if (warn && ms <= warn * 1000) once(`soon ${element.dataset.timer}${what}`, 0, `In ${clock(ms)}: ${what}`);
  }
  for (const element of document.querySelectorAll("[data-counter]")) {
    left(element).textContent = clock(now - Date.parse(element.dataset.counter));
  }
}

tick();
setInterval(tick, 500);
addEventListener("visibilitychange", tick);
addEventListener("gylebook:swapped", tick);
