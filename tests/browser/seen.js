// What the scripts share that look a page over: they are put behind this.
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

/** What pushes the page out to the side, if anything does. */
function sideways() {
  if (page.scrollWidth <= page.clientWidth) return [];
  const out = [...document.querySelectorAll("body *:not(.unseen)")].filter((element) => isOut(element) && ![...element.children].some(isOut) && !inFrame(element));
  return [`scrolls sideways: ${page.scrollWidth} in ${page.clientWidth}: ${out.slice(0, 6).map(told).join(", ")}`];
}

function channels(colour) {
  const [red, green, blue, alpha = 1] = colour.match(/[\d.]+/g).map(Number);
  return { alpha, light: [red, green, blue] };
}

function luminance({ light }) {
  const [red, green, blue] = light.map((part) => part / 255).map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one, other) {
  const [low, high] = [luminance(one) + 0.05, luminance(other) + 0.05].sort((a, b) => a - b);
  return high / low;
}

/** What an element stands on. */
function ground(element) {
  for (let here = element; here; here = here.parentElement) {
    const colour = channels(getComputedStyle(here).backgroundColor);
    if (colour.alpha === 1) return colour;
  }
  return channels("rgb(255, 255, 255)");
}
