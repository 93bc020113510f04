// Run in the page as a function: gives back a sentence for everything wrong with it.
//
// 24 px is the least a target may be (WCAG 2.2, 2.5.8, from memory); a link within
// a sentence counts with its line. 48 px, 64 px and the 8 px between are this book's
// own measures for what is pressed with wet hands, and most often with them.
const LEAST = 24;
const CONTROL = 48;
const HOT = 64;
const APART = 8;
// WCAG 2.2, 1.4.6 and 1.4.11. What is softer than ink on purpose is axe's to judge (1.4.3).
const TEXT_CONTRAST = 7;
const EDGE_CONTRAST = 3;
const SOFT = ["--ink-soft", "--rim", "--hot", "--fine", "--on-rim", "--on-hot"];
const CONTROLS = "button, .button, summary, select, textarea, input:not([type=hidden])";

const wrong = sideways();
const size = ({ width, height }) => `${Math.round(width)}×${Math.round(height)}`;

for (const link of seen("a[href]")) {
  const box = link.getBoundingClientRect();
  const inline = getComputedStyle(link).display === "inline";
  const height = inline ? Math.max(box.height, parseFloat(getComputedStyle(link).lineHeight)) : box.height;
  if (height < LEAST || (!inline && box.width < LEAST)) wrong.push(`too small: ${told(link)} ${size(box)}`);
}

// A tick or a choice is as large as the label round it.
const target = (control) => (/^(checkbox|radio)$/.test(control.type) ? (control.closest("label") ?? control) : control);

for (const control of seen(CONTROLS)) {
  const box = target(control).getBoundingClientRect();
  if (box.height < CONTROL || box.width < LEAST) wrong.push(`too small: ${told(control)} ${size(box)}`);
}
for (const control of seen(".bar__entry > *, .act .button, .button--large")) {
  const box = control.getBoundingClientRect();
  // The two steppers are as high, but leave the field its room on a phone.
  const width = control.matches(".bar__step") ? CONTROL : HOT;
  if (box.height < HOT || box.width < width) wrong.push(`too small for wet hands: ${told(control)} ${size(box)}`);
}

// A fold is a line of a ruled list, as wide as the page: it needs no gap.
const boxes = seen(CONTROLS).filter((control) => control.localName !== "summary").map((control) => [control, target(control).getBoundingClientRect()]);
for (const [at, [control, a]] of boxes.entries()) {
  for (const [other, b] of boxes.slice(at + 1)) {
    const beside = Math.max(a.left - b.right, b.left - a.right);
    const below = Math.max(a.top - b.bottom, b.top - a.bottom);
    const isOver = control.closest(".bar, .notices") !== other.closest(".bar, .notices");
    if (!isOver && Math.max(beside, below) < APART - 0.5) wrong.push(`too near: ${told(control)} and ${told(other)}`);
  }
}

// What a token comes to is asked of an element that wears it.
const probe = document.body.appendChild(document.createElement("i"));
const soft = SOFT.map((token) => {
  probe.style.color = `var(${token})`;
  return getComputedStyle(probe).color;
});
probe.remove();

for (const element of seen("body *")) {
  const { color, borderTopColor, borderTopWidth, backgroundColor } = getComputedStyle(element);
  const hasWords = [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
  if (hasWords && !element.closest("svg, :disabled") && !soft.includes(color)) {
    const found = contrast(channels(color), ground(element));
    if (found < TEXT_CONTRAST) wrong.push(`hard to read: ${told(element)} ${found.toFixed(1)}:1`);
  }
  if (!element.matches(".button:not(.button--plain), .field__input, .bar__input, .choice__one")) continue;
  const [edge, fill, under] = [channels(borderTopColor), channels(backgroundColor), ground(element.parentElement)];
  const edges = [parseFloat(borderTopWidth) > 0 && edge.alpha === 1 ? contrast(edge, under) : 1, fill.alpha === 1 ? contrast(fill, under) : 1];
  if (Math.max(...edges) < EDGE_CONTRAST) wrong.push(`hard to see: ${told(element)} ${Math.max(...edges).toFixed(1)}:1`);
}

for (const control of seen("select, textarea, input:not([type=hidden])")) {
  if (!control.labels?.length && !control.ariaLabel) wrong.push(`no name: ${told(control)}`);
}
for (const button of seen("button, a[href]")) {
  if (!button.textContent.trim() && !button.ariaLabel) wrong.push(`no words: ${told(button)}`);
}

for (const table of document.querySelectorAll("table:not([role=presentation])")) {
  if (!table.querySelector("thead th, tr:first-child th")) wrong.push(`no heads: ${told(table)}`);
}

// WCAG 2.2, 1.4.1: a link among words is not told by its colour alone.
for (const link of seen("p a[href]")) {
  const { display, textDecorationLine } = getComputedStyle(link);
  const isAmongWords = [...link.parentElement.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim().length > 1);
  if (display === "inline" && isAmongWords && textDecorationLine === "none") wrong.push(`told by colour alone: ${told(link)}`);
}

// A place that is there before something is said in it is read out when it is.
if (document.querySelector("[data-batch] [name=kind]") && !document.querySelector("main > [role=status]")) wrong.push("nowhere to say what was saved");

// WCAG 2.2, 2.2.2 and 2.3.1: nothing moves for ever, nothing flashes.
for (const motion of document.getAnimations()) {
  const { duration, iterations } = motion.effect.getComputedTiming();
  if (iterations === Infinity || (iterations > 1 && duration < 334)) wrong.push(`moves by itself: ${told(motion.effect.target)}`);
}

const ids = [...document.querySelectorAll("[id]")].map((element) => element.id);
for (const id of new Set(ids.filter((one, place) => ids.indexOf(one) < place))) wrong.push(`twice on the page: #${id}`);

return wrong;
