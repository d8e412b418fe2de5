// The Question desk: a question worked out, one step at a time, each step lighting up its words.
import { call, make, quoted, trouble } from "./api.js";
import { draw } from "./marks.js";

const by = (id) => document.getElementById(id);
const state = { item: null, solution: null, step: -1 };

const EXAMPLE = {
  skill: "transition",
  passage: "The old ferry could carry forty people and crossed only at high tide. ____, the new one takes two hundred and sails every hour.",
  question: "Which words join the two sentences best?",
  choices: ["By contrast", "For example", "As a result", "In other words"],
};

function fill(item) {
  by("ask-skill").value = item.skill;
  by("ask-passage").value = item.passage;
  by("ask-target").value = item.target || "";
  by("ask-question").value = item.question;
  by("ask-choices").value = item.choices.join("\n");
}

function read() {
  const choices = by("ask-choices").value.split("\n").map((line) => line.trim().replace(/^[A-Fa-f][.)]\s+/, "")).filter(Boolean);
  const item = { id: "page", skill: by("ask-skill").value, passage: by("ask-passage").value.trim(), question: by("ask-question").value.trim(), choices };
  const target = by("ask-target").value.trim();
  if (target) item.target = target;
  return item;
}

export async function solve(item) {
  const { solutions } = await call("/v1/solve", { items: [item] });
  return solutions[0];
}

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
  draw(by("asked-passage"), item.passage, { evidence: current.evidence });
  by("asked-question").textContent = item.question;
  by("asked-choices").replaceChildren(...solution.choices.map((c) =>
    make("li", { class: done ? c.verdict : "" }, make("span", { class: "text" }, c.text), done ? make("span", { class: "why" }, c.reason) : null)));
  by("path-place").textContent = `Step ${step + 1} of ${steps.length}`;
  by("path").replaceChildren(...steps.slice(0, step + 1).map((s, i) => i === step
    ? make("li", { "aria-current": "step" }, make("span", { class: "do" }, s.action), make("p", {}, s.finding))
    : make("li", {}, make("button", { type: "button", onclick: () => go(i) }, s.action))));
  by("path-next").disabled = done;
  by("path-back").disabled = step <= 0;
}

// The path, and the answer as the last stop on it.
function stations(solution) {
  const chosen = solution.choices.find((c) => c.letter === solution.answer);
  return [...solution.path, chosen
    ? { action: `The answer is ${chosen.letter}: ${quoted(chosen.text)}.`, finding: chosen.reason, evidence: chosen.evidence }
    : { action: "The answer stays open.", finding: "The words of this passage do not decide it.", evidence: [] }];
}

function go(step) {
  state.step = step;
  redraw();
  // The note may be lower than its steps: bring the last one up under the buttons.
  const below = by("path-tools").getBoundingClientRect().bottom;
  by("path").closest(".note").scrollTop += by("path").lastElementChild.getBoundingClientRect().top - below;
}

export function begin() {
  by("ask").addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = event.submitter;
    if (button) button.disabled = true;
    try {
      trouble(null);
      const item = read();
      Object.assign(state, { item, solution: await solve(item), step: 0 });
      redraw();
      by("path-next").focus();
    } catch (error) {
      trouble(error);
    } finally {
      if (button) button.disabled = false;
    }
  });
  by("ask-example").addEventListener("click", () => fill(EXAMPLE));
  by("ask-again").addEventListener("click", () => {
    state.solution = null;
    redraw();
    by("ask-passage").focus();
  });
  by("path-next").addEventListener("click", () => go(state.step + 1));
  by("path-back").addEventListener("click", () => go(state.step - 1));
}
