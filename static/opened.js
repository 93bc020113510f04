// What is folded open comes into view whole: the bar under the thumb may stand
// before it (scroll-padding, base.css). What is higher than the screen begins at its top.

addEventListener("click", (event) => {
  const fold = event.target.closest?.("summary")?.parentElement;
  // The click opens it; it is as high as it will be in the next picture.
  if (fold) requestAnimationFrame(() => fold.open && fold.scrollIntoView({ block: "nearest" }));
});
