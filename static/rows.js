// Rows of a list, added and taken out in place. Without this the buttons send
// the form, and the page comes back with a row more or less.
//
//   <ol data-rows="hops">            the list; each row in it carries data-row
//   <button data-add="hops">         adds a row
//   <button value="remove-hops-2">   inside a row, takes it out
//   <template data-pattern="hops">   the row to copy: ROW stands for its place,
//                                    NUMBER for the same counted from one

/** The first place no row of the list has, in the names of its fields. */
function freePlace(list) {
  const places = [...list.querySelectorAll("[name]")].map((field) => Number(field.name.split(".")[1]));
  return Math.max(-1, ...places.filter(Number.isInteger)) + 1;
}

function tell(form) {
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

function addAt(list, place) {
  const pattern = document.querySelector(`template[data-pattern="${list.dataset.rows}"]`);
  const row = pattern.innerHTML.replaceAll("ROW", place).replaceAll("NUMBER", Number(place) + 1);
  list.insertAdjacentHTML("beforeend", row);
}

/** Gives each list of a form the rows of these places: `{ hops: ["0", "2"] }`. */
export function withRows(form, rows) {
  for (const list of form.querySelectorAll("[data-rows]")) {
    const wanted = new Set(rows[list.dataset.rows]);
    for (const row of list.querySelectorAll("[data-row]")) {
      const place = row.querySelector('[name*="."]').name.split(".")[1];
      if (!wanted.delete(place)) row.remove();
    }
    for (const place of wanted) addAt(list, place);
  }
}

function add(form, name) {
  const list = form.querySelector(`[data-rows="${name}"]`);
  addAt(list, freePlace(list));
  list.lastElementChild.querySelector("input").focus();
  tell(form);
}

function remove(form, button) {
  const row = button.closest("[data-row]");
  const list = row.parentElement;
  const neighbour = row.nextElementSibling ?? row.previousElementSibling;
  const next = neighbour ? neighbour.querySelector("input") : form.querySelector(`[data-add="${list.dataset.rows}"]`);
  row.remove();
  next.focus();
  tell(form);
}

for (const list of document.querySelectorAll("[data-rows]")) {
  const form = list.closest("form");
  if (form.dataset.rowsReady) continue;
  form.dataset.rowsReady = "yes";
  form.addEventListener("click", (event) => {
    const button = event.target.closest('button[name="row"]');
    if (!button) return;
    event.preventDefault();
    if (button.dataset.add) add(form, button.dataset.add);
    else remove(form, button);
  });
}
