// Forms: a complaint stands under its field until the field is mended; what was typed is kept.
import { make, trouble } from "./api.js";

const by = (id) => document.getElementById(id);

// Say under a field what is wrong with it; no words take the complaint away.
export function complain(field, words) {
  const id = `${field.id}-wrong`;
  by(id)?.remove();
  if (!words) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
    return;
  }
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", id);
  field.after(make("p", { id, class: "complaint" }, words));
}

// Say all complaints, `[[field, words]]`, and go to the first field; true where there is none.
export function complaints(form, found) {
  settle(form);
  for (const [field, words] of found) complain(field, words);
  if (found.length) found[0][0].focus();
  return !found.length;
}

export function settle(form) {
  for (const field of form.querySelectorAll("[aria-invalid]")) complain(field, null);
}

// Typing in a form takes the complaints about it away.
export function watch(form) {
  form.addEventListener("input", (event) => {
    complain(event.target, null);
    trouble(null);
  });
}

// Kept in this tab until it is closed: other people who use the computer later do not see it.
export function keep(name, value) {
  try {
    if (value === null) sessionStorage.removeItem(`rwtools.${name}`);
    else sessionStorage.setItem(`rwtools.${name}`, JSON.stringify(value));
  } catch {
    // Storage is full or refused: the page works without.
  }
}

export function kept(name) {
  try {
    return JSON.parse(sessionStorage.getItem(`rwtools.${name}`));
  } catch {
    return null;
  }
}
