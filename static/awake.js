// Keeps the screen on through a brew day, where the browser can: over HTTPS, or
// on the computer that keeps the book. Elsewhere there is no such button.

const WANTED = "gylebook-awake";
let lock;

async function hold() {
  if (localStorage.getItem(WANTED) !== "yes" || document.visibilityState !== "visible") return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    // A phone low on power says no; its own setting holds.
  }
}

function offer() {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button button--quiet";
  const show = () => {
    const isOn = localStorage.getItem(WANTED) === "yes";
    button.textContent = isOn ? "Let the screen go dark" : "Keep the screen on";
  };
  button.addEventListener("click", () => {
    const isOn = localStorage.getItem(WANTED) === "yes";
    localStorage.setItem(WANTED, isOn ? "no" : "yes");
    if (isOn) lock?.release();
    else hold();
    show();
  });
  show();
  const place = document.createElement("p");
  place.className = "awake";
  place.append(button);
  document.getElementById("book").before(place);
}

// A record is read like a book: no hands are wet.
if (navigator.wakeLock && !document.querySelector("[data-record]")) {
  offer();
  hold();
  // The browser lets go of it whenever the page is hidden.
  addEventListener("visibilitychange", hold);
}
