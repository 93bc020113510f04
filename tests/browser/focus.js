// Run in the page as a function: what has the focus, and a sentence for everything
// wrong with how that is seen (WCAG 2.2, 2.4.11 and 2.4.13).
const RING = 2;
const RING_CONTRAST = 3;
/** A focus ring stands off by a little; what touches the very edge of the box hides nothing. */
const INSET = 4;

const here = document.activeElement;
if (!here || here === document.body) return null;
// The ring of a tick or a choice is round its label.
const shown = here.matches("[type=radio], [type=checkbox]") ? (here.closest("label") ?? here) : here;
const wrong = [];

const { outlineStyle, outlineWidth, outlineColor } = getComputedStyle(shown);
const ring = outlineStyle === "none" ? 0 : parseFloat(outlineWidth);
if (ring < RING) wrong.push(`no ring: ${told(here)}`);
else if (contrast(channels(outlineColor), ground(shown.parentElement)) < RING_CONTRAST) wrong.push(`faint ring: ${told(here)}`);

const box = shown.getClientRects()[0];
const [left, right] = [Math.max(box.left + INSET, 0), Math.min(box.right - INSET, innerWidth - 1)];
const [top, bottom] = [Math.max(box.top + INSET, 0), Math.min(box.bottom - INSET, innerHeight - 1)];
if (right < left || bottom < top) {
  wrong.push(`out of sight: ${told(here)}`);
} else {
  for (const [x, y] of [[left, top], [right, top], [left, bottom], [right, bottom]]) {
    const over = document.elementFromPoint(x, y);
    if (over && !shown.contains(over) && !over.contains(shown)) {
      wrong.push(`covered: ${told(here)} by ${told(over)}`);
      break;
    }
  }
}
const path = [];
for (let up = here; up !== document.body; up = up.parentElement) path.push([...up.parentElement.children].indexOf(up));
return { place: path.join("."), told: told(here), wrong };
