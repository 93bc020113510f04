// The strip that says what the server does not have yet, on every page and until
// it is true no longer: how many, what, and what can be done about each. Opened,
// it offers all of it as text, for a day when the server never comes back.

const MOST_NAMED = 3;
/** How long what was thrown away is offered, where nothing else waits. */
const OFFERED_MS = 60_000;

/** What the strip does for a person, from the outbox. */
let acts;
let items = [];

function make(name, words, className = "") {
  const element = document.createElement(name);
  element.className = className;
  element.textContent = words;
  return element;
}

function button(words, act) {
  const made = make("button", words, "button button--quiet");
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

function named(some) {
  const names = some.slice(0, MOST_NAMED).map((item) => item.told);
  const more = some.length - names.length;
  return names.join("; ") + (more > 0 ? ` and ${more} more` : "");
}

function words() {
  const isRefused = (item) => item.refused && !item.gone;
  const [waiting, refused] = [items.filter((item) => !item.refused && !item.gone), items.filter(isRefused)];
  const said = [];
  if (waiting.length) said.push(`${waiting.length} waiting to send: ${named(waiting)}.`);
  if (waiting.length && acts.isOut) said.push("This device is not let in: pair it, and they go by themselves.");
  else if (waiting.length && acts.isAway) said.push("The server does not answer. Stay on this page: they go by themselves.");
  if (refused.length) said.push(`${refused.length} not taken: ${named(refused)}.`);
  return said.join(" ");
}

const clock = (item) => new Date(item.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

function line(item) {
  const row = make("li", "", "waiting__one");
  row.append(make("p", `${clock(item)} ${item.told}`, "waiting__told"));
  if (item.gone) {
    row.append(make("p", "Thrown away."), button("Take it back", () => acts.takeBack(item)));
  } else if (item.refused) {
    row.append(make("p", item.why || "The server did not take it."));
    if (item.action === location.pathname) row.append(button("Put it right", () => acts.putRight(item)));
    else row.append(link(item.action));
    row.append(button("Throw it away", () => acts.throwAway(item)));
  }
  return row;
}

function link(action, words = "Put it right") {
  const made = make("a", words, "button button--quiet");
  made.href = action;
  return made;
}

/** Every field of an entry but what only the server has a use for. */
function asText(item) {
  const hidden = ["form", "form_token", "id", "at", "typed_at"];
  const fields = [...new URLSearchParams(item.body)].filter(([name, text]) => text && !hidden.includes(name));
  return [new Date(item.at).toISOString(), item.action, ...fields.map(([name, text]) => `${name}=${text}`)].join("  ");
}

/** The list is made when it is looked at: of two hundred entries it is long. */
function fill(details) {
  if (!details.open) return;
  const list = make("ol", "", "waiting__list");
  list.append(...items.map(line));
  const text = make("textarea", "", "field__input");
  text.value = items.map(asText).join("\n");
  text.readOnly = true;
  text.hidden = true;
  text.ariaLabel = "All of it as text";
  text.rows = Math.min(items.length, 6);
  const copy = button("Copy as text", () => {
    // The newer way to the clipboard is closed to a plain-HTTP address.
    text.hidden = false;
    text.select();
    copy.textContent = document.execCommand("copy") ? "Copied" : "Marked: copy it from here";
  });
  details.replaceChildren(details.firstElementChild, list, text, copy);
}

function strip() {
  const made = make("div", "", "banner waiting");
  made.id = "waiting";
  const said = make("p", "");
  said.setAttribute("role", "status");
  const details = make("details", "");
  details.append(make("summary", "Show them"));
  details.addEventListener("toggle", () => fill(details));
  made.append(said, details);
  document.getElementById("notices").append(made);
  return made;
}

/** Shows the outbox's entries, in its order. */
export function show(these, does) {
  [items, acts] = [these, does];
  const old = document.getElementById("waiting");
  const live = items.filter((item) => !item.gone);
  // What was thrown away is offered once more, and then bothers no page.
  if (!live.length && !items.some((item) => Date.now() - item.gone < OFFERED_MS)) {
    old?.remove();
    return;
  }
  const here = old ?? strip();
  here.classList.toggle("banner--hot", live.length > 0);
  const said = here.querySelector("p");
  const way = here.querySelector("a[href='/pair']");
  if (acts.isOut && !way) said.after(link("/pair", "Pair this device"));
  else if (!acts.isOut) way?.remove();
  const told = words() || "Nothing waits. What was thrown away can be taken back.";
  if (said.textContent !== told) said.textContent = told;
  fill(here.querySelector("details"));
}
