// Two large buttons beside the field under the thumb. Each touch moves what is
// there by a tenth, an empty field from the last reading, as most readings differ
// from it by little; held down it runs.

import "./opened.js";

const HOLD_MS = 450;
const RUN_MS = 90;
/** After so many steps a run goes by whole degrees. */
const FAST_AFTER = 12;

let timer = 0;

function number(text) {
  const value = Number.parseFloat(text.replace(",", ".").replace("−", "-"));
  return Number.isFinite(value) ? value : undefined;
}

function step(button, by) {
  const form = button.closest("form");
  const field = form.querySelector(".bar__input");
  const from = number(field.value) ?? number(form.querySelector("[data-last]")?.dataset.last ?? "");
  field.value = from === undefined ? "" : (from + by * Number(button.dataset.step)).toFixed(1);
  // It counts as typed: a draft is kept of it.
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function stop() {
  clearTimeout(timer);
  timer = 0;
}

function run(button, steps) {
  step(button, steps > FAST_AFTER ? 1 : 0.1);
  timer = setTimeout(run, RUN_MS, button, steps + 1);
}

/** The buttons do nothing without this script, so the page comes with them hidden. */
function show() {
  for (const button of document.querySelectorAll("[data-step]")) button.hidden = false;
}

addEventListener("pointerdown", (event) => {
  const button = event.target.closest?.("[data-step]");
  if (button) timer = setTimeout(run, HOLD_MS, button, 0);
});
for (const end of ["pointerup", "pointercancel", "pointerleave", "blur"]) addEventListener(end, stop);
addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-step]");
  if (button) step(button, 0.1);
});
addEventListener("gylebook:swapped", show);
show();
