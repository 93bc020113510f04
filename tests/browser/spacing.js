// Run in the page as a function: spaces the text out as WCAG 1.4.12 allows a reader
// to, gives back a sentence for everything that is lost by it, and takes it back.
const spacing = new CSSStyleSheet();
spacing.replaceSync(`
  * { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
  p { margin-block-end: 2em !important; }
`);
const own = document.adoptedStyleSheets;
document.adoptedStyleSheets = [...own, spacing];
const wrong = sideways().map((line) => `spaced out, ${line}`);

for (const element of document.querySelectorAll("body *")) {
  const { overflowX, overflowY } = getComputedStyle(element);
  if (!element.checkVisibility() || element.closest(".unseen, svg, input, select, textarea")) continue;
  const isCut = (overflow, is, has) => /hidden|clip/.test(overflow) && has > is + 1;
  if (isCut(overflowX, element.clientWidth, element.scrollWidth) || isCut(overflowY, element.clientHeight, element.scrollHeight)) {
    wrong.push(`spaced out, cut off: ${told(element)}`);
  }
}

document.adoptedStyleSheets = own;
return wrong;
