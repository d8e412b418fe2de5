// The Drill desk: questions from the current text, done on the spot, with feedback at once.
import { call, make, quoted, trouble } from "./api.js";
import { draw, skillName } from "./marks.js";
import { solve } from "./question.js";
import { currentText } from "./read.js";

const by = (id) => document.getElementById(id);
const STORE = "rwtools.history";
const state = { items: [], at: 0, results: [], began: 0 };

const past = () => {
  try {
    return JSON.parse(localStorage.getItem(STORE)) || [];
  } catch {
    return [];
  }
};

function history() {
  const runs = past();
  const tally = new Map();
  for (const run of runs)
    for (const { skill, right } of run.results) {
      const [good, all] = tally.get(skill) || [0, 0];
      tally.set(skill, [good + right, all + 1]);
    }
  by("past").replaceChildren(runs.length
    ? make("table", {},
      make("caption", { class: "tag" }, `${runs.length} drill${runs.length === 1 ? "" : "s"} so far`),
      make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "What"), make("th", { scope: "col", class: "number" }, "Right"), make("th", { scope: "col", class: "number" }, "Done"))),
      make("tbody", {}, ...[...tally].map(([skill, [good, all]]) =>
        make("tr", {}, make("td", {}, skillName(skill)), make("td", { class: "number" }, String(good)), make("td", { class: "number" }, String(all))))))
    : make("p", {}, "Nothing yet."));
  by("forget").disabled = !runs.length;
}

function start(message) {
  note();
  by("drill").replaceChildren(
    make("p", {}, message || "A drill has up to six questions. There is no hurry here: read each text to its end first."),
    make("p", { class: "quote" }, quoted(currentText().slice(0, 140) + (currentText().length > 140 ? " …" : ""))),
    make("div", { class: "tools" }, make("button", { type: "button", onclick: begin_ }, "Make the drill")),
  );
}

async function begin_(event) {
  event.target.disabled = true;
  event.target.textContent = "Making questions …";
  try {
    trouble(null);
    const { items } = await call("/v1/make", { passages: [currentText()], count: 6 });
    if (!items.length) return start("No good question came out of this text. A longer text with more joining words works better.");
    Object.assign(state, { items, at: 0, results: [] });
    ask();
  } catch (error) {
    trouble(error);
    start();
  }
}

function ask() {
  const item = state.items[state.at];
  note();
  state.began = Date.now();
  const text = make("div", { class: "passage" });
  draw(text, item.passage);
  const form = make("form", {},
    make("p", { class: "tag" }, `Question ${state.at + 1} of ${state.items.length}: ${skillName(item.skill)}`),
    text,
    make("fieldset", { class: "options" },
      make("legend", { class: "stem" }, item.question),
      ...item.choices.map((choice, i) => make("label", {},
        make("input", { type: "radio", name: "choice", value: "ABCDEF"[i], required: true }),
        make("span", {}, `${"ABCDEF"[i]}. ${choice}`)))),
    make("div", { class: "tools" }, make("button", { type: "submit" }, "Check my answer")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    check(item, new FormData(form).get("choice"), form, text);
  });
  by("drill").replaceChildren(form);
}

async function check(item, letter, form, text) {
  const right = letter === item.answer;
  state.results.push({ skill: item.skill, right, seconds: Math.round((Date.now() - state.began) / 1000) });
  for (const input of form.elements) input.disabled = true;
  for (const label of form.querySelectorAll(".options label")) {
    const own = label.firstChild.value;
    label.classList.toggle("fits", own === item.answer);
    label.classList.toggle("miss", own === letter && !right);
  }
  form.querySelector(".tools").remove();
  const key = item.choices["ABCDEF".indexOf(item.answer)];
  const last = state.at + 1 >= state.items.length;
  const next = make("button", { type: "button", onclick: () => { state.at += 1; last ? finish() : ask(); } }, last ? "See how it went" : "Next question");
  const why = make("div", {}, make("p", {}, item.rationale || ""));
  note(
    make("p", { class: `verdict ${right ? "right" : "wrong"}` }, right ? "Right." : `Not this one. The answer is ${item.answer}: ${quoted(key)}.`),
    why, make("div", { class: "tools" }, next));
  next.focus();
  draw(text, item.passage, { evidence: item.evidence });
  if (right) return;
  try {
    const solution = await solve(item);
    const chosen = solution.choices.find((c) => c.letter === letter);
    if (chosen) why.append(make("p", {}, `Why not ${letter}: ${chosen.reason}`));
  } catch {
    // The rationale says already why the key is right; this was an extra.
  }
}

function note(...children) {
  by("drill-note").hidden = !children.length;
  by("drill-note").replaceChildren(...children);
}

function finish() {
  const good = state.results.filter((r) => r.right).length;
  localStorage.setItem(STORE, JSON.stringify([...past(), { when: new Date().toISOString(), results: state.results }]));
  history();
  note();
  const missed = [...new Set(state.results.filter((r) => !r.right).map((r) => skillName(r.skill)))];
  by("drill").replaceChildren(
    make("h2", { tabindex: "-1" }, `${good} of ${state.results.length} right`),
    make("p", {}, missed.length ? `Practise next: ${missed.join(", ")}.` : "No miss. Try a harder text."),
    make("div", { class: "tools" }, make("button", { type: "button", onclick: () => start() }, "Another drill")));
  by("drill").querySelector("h2").focus();
}

export function enter() {
  if (!state.items.length || state.at >= state.items.length - 1) start();
  history();
}

export function begin() {
  by("forget").addEventListener("click", () => {
    localStorage.removeItem(STORE);
    history();
  });
}
