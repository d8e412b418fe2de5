// The Drill desk: questions from the current text, done on the spot, with feedback at once.
import { busy, call, make, quoted } from "./api.js";
import { keep, kept } from "./forms.js";
import * as history from "./history.js";
import { draw } from "./marks.js";
import { skillName } from "./names.js";
import { solve } from "./question.js";
import { currentText } from "./read.js";
import { reveal } from "./sight.js";

const by = (id) => document.getElementById(id);
const LETTERS = "ABCDEF";
const NONE = { text: "", items: [], results: [], forgotten: 0, when: null };
// `results` are the answers so far; the first `forgotten` of them were deleted from the history.
const state = { ...NONE, began: 0, open: false };

const running = () => state.items.length > state.results.length;
// The beginning of a text, cut between words.
const short = (text) => quoted(text.length > 140 ? `${text.slice(0, 140).replace(/\s+\S*$/, "")} …` : text);

function save() {
  const { text, items, results, forgotten, when } = state;
  keep("drill", running() ? { text, items, results, forgotten, when } : null);
  if (results.length > forgotten) history.save({ when, results: results.slice(forgotten) });
}

function start(message) {
  state.open = false;
  note();
  by("drill").replaceChildren(
    make("p", {}, message || "A drill has up to six questions. There is no hurry here: read each text to its end first."),
    make("p", { class: "quote" }, short(currentText())),
    make("div", { class: "tools" },
      make("button", { type: "button", onclick: makeDrill }, "Make the drill"),
      running() ? make("button", { type: "button", class: "quiet", onclick: ask },
        `Go on with the drill you began (question ${state.results.length + 1} of ${state.items.length})`) : null),
  );
}

function makeDrill(event) {
  const text = currentText();
  return busy(event.target, "Making questions …", async () => {
    const seed = Math.floor(Math.random() * 2 ** 31); // another drill on the same text asks anew
    const { items } = await call("/v1/make", { passages: [text], count: 6, seed });
    if (!items.length) {
      start("No good question came out of this text. A longer text with more joining words works better.");
      return;
    }
    Object.assign(state, NONE, { text, items, results: [], when: new Date().toISOString() });
    save();
    ask();
  });
}

function leave() {
  const done = state.results.length;
  start(done ? `You left the drill. ${done === 1 ? "Your answer is" : `Your ${done} answers are`} in your history below.` : "You left the drill before its first answer.");
  by("drill").querySelector("button").focus();
}

const leaveButton = () => make("button", { type: "button", class: "quiet", onclick: leave }, "Leave this drill");

function ask() {
  const at = state.results.length;
  const item = state.items[at];
  note();
  Object.assign(state, { began: Date.now(), open: true });
  const text = make("div", { class: "passage" });
  draw(text, item.passage);
  const form = make("form", { novalidate: true },
    make("p", { class: "tag", tabindex: "-1" }, `Question ${at + 1} of ${state.items.length}: ${skillName(item.skill)}`),
    make("p", { class: "tag", id: "drill-source" }),
    text,
    make("fieldset", { class: "options" },
      make("legend", { class: "stem" }, item.question),
      ...item.choices.map((choice, i) => make("label", {},
        make("input", { type: "radio", name: "choice", value: LETTERS[i], required: true }),
        make("span", {}, `${LETTERS[i]}. ${choice}`)))),
    make("p", { class: "complaint", role: "alert", hidden: true }, "Choose an answer first."),
    make("div", { class: "tools" }, make("button", { type: "submit" }, "Check my answer"), leaveButton()));
  const missing = form.querySelector(".complaint");
  form.addEventListener("change", () => { missing.hidden = true; });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const letter = new FormData(form).get("choice");
    missing.hidden = Boolean(letter);
    if (letter) check(item, letter, form, text);
    else form.querySelector("input").focus();
  });
  by("drill").replaceChildren(form);
  source();
}

// Where the Read page has another text by now, say which one this drill is from.
function source() {
  const place = by("drill-source");
  if (!place) return;
  place.hidden = state.text === currentText();
  place.textContent = `This drill is from another text than the one on the Read page: ${short(state.text)}`;
}

// The next question begins where its text begins, for the eye and for the keyboard.
function next() {
  if (!running()) return finish();
  ask();
  if (by("drill").getBoundingClientRect().top < 0) by("drill").scrollIntoView({ block: "start" });
  return by("drill").querySelector(".tag").focus({ preventScroll: true });
}

async function check(item, letter, form, text) {
  const right = letter === item.answer;
  state.results.push({ skill: item.skill, right, seconds: Math.round((Date.now() - state.began) / 1000) });
  save();
  for (const input of form.elements) input.disabled = true;
  for (const label of form.querySelectorAll(".options label")) {
    const own = label.firstChild.value;
    label.classList.toggle("fits", own === item.answer);
    label.classList.toggle("miss", own === letter && !right);
  }
  form.querySelector(".tools").remove();
  const key = item.choices[LETTERS.indexOf(item.answer)];
  const onward = make("button", { type: "button", onclick: next }, running() ? "Next question" : "See how it went");
  const why = make("div", {}, make("p", {}, item.rationale || ""));
  note(
    make("p", { class: `verdict ${right ? "right" : "wrong"}` }, right ? "Right." : `Not this one. The answer is ${item.answer}: ${quoted(key)}.`),
    why, make("div", { class: "tools" }, onward, running() ? leaveButton() : null));
  onward.focus({ preventScroll: true });
  draw(text, item.passage, { evidence: item.evidence });
  reveal(text.querySelectorAll(".ev"), by("drill-note"));
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
  by("drill-note").scrollTop = 0;
}

function finish() {
  const good = state.results.filter((r) => r.right).length;
  note();
  const missed = [...new Set(state.results.filter((r) => !r.right).map((r) => skillName(r.skill)))];
  by("drill").replaceChildren(
    make("h2", { tabindex: "-1" }, `${good} of ${state.results.length} right`),
    make("p", {}, missed.length ? `Practise next: ${missed.join(", ")}.` : "No miss. Try a harder text."),
    make("div", { class: "tools" }, make("button", { type: "button", onclick: () => start() }, "Another drill")));
  state.open = false;
  by("drill").querySelector("h2").focus();
}

// Coming to the desk: a drill that stands open stays; "Make a drill from this text" asks for a new one.
export function enter() {
  history.draw();
  if (state.open) source();
  else start();
}

export function fromText() {
  if (state.open && state.text !== currentText()) start();
}

export function begin() {
  Object.assign(state, kept("drill") || {});
  history.begin(() => {
    state.forgotten = state.results.length;
    save();
  });
}

// After a reload, the drill that was open goes on with its first question that has no answer.
export function resume() {
  if (running()) ask();
}
