// The Question desk: a question worked out, one step at a time, each step lighting up its words.
import { busy, call, make, quoted } from "./api.js";
import * as form from "./ask.js";
import { draw } from "./marks.js";
import { hundred } from "./names.js";
import { reveal } from "./sight.js";

const by = (id) => document.getElementById(id);
const state = { item: null, solution: null, step: -1 };

export async function solve(item) {
  const { solutions } = await call("/v1/solve", { items: [item] });
  return solutions[0];
}

// How far to trust an answer, in words and with the number.
export function trust(confidence) {
  const number = hundred(confidence);
  const share = `of 100 answers given with this much confidence, about ${number} are right`;
  if (number >= 90) return `How sure: very sure. ${capital(share)}.`;
  if (number >= 75) return `How sure: fairly sure. ${capital(share)}.`;
  if (number >= 50) return `How sure: not very sure. ${capital(share)}. Check it for yourself.`;
  return `How sure: this is not much more than a guess. ${capital(share)}. Do not rely on it.`;
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);

function redraw() {
  const { item, solution, step } = state;
  const open = solution === null;
  by("ask").hidden = !open;
  by("asked").hidden = open;
  by("path-tools").hidden = open;
  by("path-empty").hidden = !open;
  if (open) {
    by("path").replaceChildren();
    return;
  }
  const steps = stations(solution);
  const current = steps[step];
  const done = step >= steps.length - 1;
  draw(by("asked-passage"), item.passage, { evidence: current.evidence, rule: current.rule });
  by("asked-question").textContent = item.question;
  by("asked-choices").replaceChildren(...solution.choices.map((c) =>
    make("li", { class: done ? c.verdict : "" }, make("span", { class: "text" }, c.text), done ? make("span", { class: "why" }, c.reason) : null)));
  by("path-place").textContent = `Step ${step + 1} of ${steps.length}`;
  by("path").replaceChildren(...steps.slice(0, step + 1).map((s, i) => i === step
    ? make("li", { "aria-current": "step", tabindex: "-1" }, make("span", { class: "do" }, s.action), make("p", {}, s.finding),
      s.trust ? make("p", { class: s.doubt ? "doubt" : "tag", id: "sure" }, s.trust) : null)
    : make("li", {}, make("button", { type: "button", onclick: () => go(i) }, s.action))));
  by("path-next").disabled = done;
  by("path-back").disabled = step <= 0;
}

// The path, and the answer as the last stop on it.
function stations(solution) {
  const chosen = solution.choices.find((c) => c.letter === solution.answer);
  return [...solution.path, chosen
    ? { action: `The answer is ${chosen.letter}: ${quoted(chosen.text)}.`, finding: chosen.reason, evidence: chosen.evidence,
      trust: trust(solution.confidence), doubt: hundred(solution.confidence) < 75 }
    : { action: "The answer stays open.", finding: "The words of this passage do not decide it.", evidence: [] }];
}

function go(step) {
  const held = document.activeElement;
  state.step = step;
  redraw();
  const current = by("path").lastElementChild;
  // A button that is off or gone keeps no focus: the step itself takes it.
  if (held.disabled || !held.isConnected) current.focus({ preventScroll: true });
  // The note may be lower than its steps: bring the last one up under the buttons.
  const note = by("path").closest(".note");
  const below = by("path-tools").getBoundingClientRect().bottom;
  note.scrollTop += current.getBoundingClientRect().top - below;
  reveal(by("asked-passage").querySelectorAll(".ev"), note);
}

export function begin() {
  form.begin();
  by("ask").addEventListener("submit", (event) => {
    event.preventDefault();
    const item = form.read();
    if (!item) return;
    busy(by("ask").querySelector("[type=submit]"), "Working it out …", async () => {
      Object.assign(state, { item, solution: await solve(item), step: 0 });
      redraw();
      by("path-next").focus({ preventScroll: true });
      // The form was longer than what takes its place.
      if (by("asked").getBoundingClientRect().top < 0) by("asked").scrollIntoView({ block: "start" });
      go(0);
    });
  });
  by("ask-again").addEventListener("click", () => {
    state.solution = null;
    redraw();
    by("ask-passage").focus();
  });
  by("path-next").addEventListener("click", () => go(state.step + 1));
  by("path-back").addEventListener("click", () => go(state.step - 1));
}
