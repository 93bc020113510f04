// What stands in a form's fields, and what the server gave them: the difference
// is what a person typed, and nothing else may take that away.

const TICKED = "ticked";
const isTick = (field) => field.type === "checkbox" || field.type === "radio";

/** The fields a person can fill in. */
export const fieldsOf = (form) =>
  [...form.elements].filter((field) => field.name && field.matches("input:not([type=hidden], [type=file]), select, textarea"));

/** What a field is known by within its form: of several ticks of a name, each for itself. */
export const keyOf = (field) => (isTick(field) ? `${field.name}=${field.value}` : field.name);

export function textOf(field) {
  if (isTick(field)) return field.checked ? TICKED : "";
  return field.value;
}

/** What stood in it when it came. */
export function givenTo(field) {
  if (isTick(field)) return field.defaultChecked ? TICKED : "";
  if (field.localName !== "select") return field.defaultValue;
  const options = [...field.options];
  return (options.find((option) => option.defaultSelected) ?? options[0])?.value ?? "";
}

export function put(field, text) {
  if (isTick(field)) field.checked = text === TICKED;
  else field.value = text;
}

/** Whether anything in it was typed or chosen and not sent yet. */
export const isTouched = (form) => fieldsOf(form).some((field) => textOf(field) !== givenTo(field));

/** Whether it holds what a person could lose: begun, or come back to be put right. */
export const isBegun = (form) => isTouched(form) || form.querySelector("[aria-invalid]") !== null;

/** Whether it is somebody's just now: begun, or about to be. */
export function isInUse(form) {
  const here = document.activeElement;
  return isBegun(form) || (here?.form === form && fieldsOf(form).includes(here));
}
