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
  if (open) {
    by("path").replaceChildren();
    return;
  }
  const current = solution.path[step];
  const done = step >= solution.path.length - 1;
  draw(by("asked-passage"), item.passage, { evidence: current ? current.evidence : null });
  by("asked-question").textContent = item.question;
  by("asked-choices").replaceChildren(...solution.choices.map((c) =>
    make("li", { class: done ? c.verdict : "" }, make("span", { class: "text" }, c.text), done ? make("span", { class: "why" }, c.reason) : null)));
  const steps = solution.path.slice(0, step + 1).map((s, i) =>
    make("li", { "aria-current": i === step ? "step" : null }, make("span", { class: "do" }, s.action), " ", s.finding));
  if (done)
    steps.push(make("li", {}, make("strong", {}, solution.answer
      ? `The answer is ${solution.answer}: ${quoted(solution.choices.find((c) => c.letter === solution.answer).text)}.`
      : "The words of this passage do not decide it.")));
  by("path").replaceChildren(...steps);
  by("path-next").disabled = done;
  by("path-back").disabled = step <= 0;
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
  by("path-next").addEventListener("click", () => { state.step += 1; redraw(); });
  by("path-back").addEventListener("click", () => { state.step -= 1; redraw(); });
}
