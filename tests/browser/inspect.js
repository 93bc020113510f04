// Run in the page as a function: gives back a sentence for everything wrong with it.
//
// 24 px is the least a target may be (WCAG 2.2, 2.5.8, from memory); a link within
// a sentence counts with its line. 48 px is this book's own measure for what is
// pressed with wet hands.
const LEAST = 24;
const CONTROL = 48;
const wrong = [];

function told(element) {
  const words = (element.innerText || element.value || element.name || "").trim().slice(0, 40);
  return `${element.localName}${element.className ? `.${String(element.className).replaceAll(" ", ".")}` : ""} “${words}”`;
}

// Hidden from sight only, like the words for a screen reader and the skip link.
function isSeen(element) {
  if (!element.checkVisibility({ visibilityProperty: true }) || element.closest(".unseen, .skip")) return false;
  const box = element.getBoundingClientRect();
  return box.width > 0 && box.height > 0;
}

const seen = (css) => [...document.querySelectorAll(css)].filter(isSeen);

const page = document.documentElement;
const isOut = (element) => element.getBoundingClientRect().right > page.clientWidth + 1;
// A table that is wider than a phone scrolls in a frame of its own.
const hasFrame = (element) => element.parentElement?.closest(".page *") && /auto|scroll/.test(getComputedStyle(element.parentElement).overflowX);

function inFrame(element) {
  for (let here = element; here; here = here.parentElement) if (hasFrame(here)) return true;
  return false;
}

if (page.scrollWidth > page.clientWidth) {
  const out = seen("body *").filter((element) => isOut(element) && ![...element.children].some(isOut) && !inFrame(element));
  wrong.push(`scrolls sideways: ${page.scrollWidth} in ${page.clientWidth}: ${out.slice(0, 4).map(told).join(", ")}`);
}

for (const link of seen("a[href]")) {
  const box = link.getBoundingClientRect();
  const inline = getComputedStyle(link).display === "inline";
  const height = inline ? Math.max(box.height, parseFloat(getComputedStyle(link).lineHeight)) : box.height;
  if (height < LEAST || (!inline && box.width < LEAST)) wrong.push(`too small: ${told(link)} ${box.width}×${height}`);
}

for (const control of seen("button, .button, summary, select, textarea, input:not([type=hidden])")) {
  // A tick or a choice is as large as the label round it.
  const target = /^(checkbox|radio)$/.test(control.type) ? (control.closest("label") ?? control) : control;
  const { width, height } = target.getBoundingClientRect();
  if (height < CONTROL || width < LEAST) wrong.push(`too small: ${told(control)} ${width}×${height}`);
}

for (const control of seen("select, textarea, input:not([type=hidden])")) {
  if (!control.labels?.length && !control.ariaLabel) wrong.push(`no name: ${told(control)}`);
}
for (const button of seen("button, a[href]")) {
  if (!button.textContent.trim() && !button.ariaLabel) wrong.push(`no words: ${told(button)}`);
}

const ids = [...document.querySelectorAll("[id]")].map((element) => element.id);
for (const id of new Set(ids.filter((one, place) => ids.indexOf(one) < place))) wrong.push(`twice on the page: #${id}`);

return wrong;
