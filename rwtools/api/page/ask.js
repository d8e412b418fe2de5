// The form of the Question desk: what was typed is kept, and looked over before the server is asked.
import { quoted } from "./api.js";
import { complaints, keep, kept, settle, watch } from "./forms.js";

const by = (id) => document.getElementById(id);
const LETTERS = "ABCDEF";
const FIELDS = ["skill", "passage", "target", "question", "choices"];

const EXAMPLE = {
  skill: "transition",
  passage: "The old ferry could carry forty people and crossed only at high tide. ____, the new one takes two hundred and sails every hour.",
  target: "",
  question: "Which words join the two sentences best?",
  choices: "By contrast\nFor example\nAs a result\nIn other words",
};

const typed = () => Object.fromEntries(FIELDS.map((name) => [name, by(`ask-${name}`).value]));

function fill(values) {
  for (const name of FIELDS) by(`ask-${name}`).value = values[name] ?? "";
  settle(by("ask"));
  keep("question", typed());
}

// Letters before the choices go where all choices have them, in their order: "(A) lavish", "B. frugal".
function choicesOf(text) {
  const lines = text.split("\n").map((line) => line.trim()).filter(Boolean);
  const lettered = lines.map((line) => /^\(?([A-Za-z])[.):]\s*(.*)$/.exec(line));
  const all = lines.length > 1 && lettered.every((m, i) => m && m[1].toUpperCase() === "ABCDEFGHIJ"[i]);
  return all ? lettered.map((m) => m[2]) : lines;
}

function aboutPassage({ skill, passage, target }) {
  if (!passage) return "There is no passage yet.";
  const blanks = passage.match(/_{4,}/g) || [];
  if (blanks.length > 1) return "There is more than one blank: leave one ____ only.";
  if (blanks.length || (skill === "vocabulary" && target)) return null;
  const short = passage.match(/_+/g);
  if (short) return `The blank is too short: write four underscores (____), not ${short[0].length}.`;
  if (skill === "vocabulary") return null;
  return "There is no blank: write four underscores (____) where the choices go. A question about the whole text cannot be worked out here.";
}

function aboutTarget({ skill, passage, target }) {
  if (target && passage && !passage.includes(target)) return `${quoted(target)} does not stand in the passage. Write it as it stands there, capitals too.`;
  if (skill === "vocabulary" && passage && !target && !/_/.test(passage))
    return "Write the word that the question asks about, or put a blank (____) in the passage.";
  return null;
}

function aboutChoices(choices) {
  if (!choices.length) return "There are no choices yet: write each on a line of its own.";
  if (choices.length === 1) return "There is one choice only: write two to six, each on a line of its own.";
  if (choices.length > LETTERS.length) return `There are ${choices.length} choices: six at most.`;
  const empty = choices.indexOf("");
  if (empty >= 0) return `Choice ${LETTERS[empty]} is empty.`;
  const twice = choices.find((choice, i) => choices.indexOf(choice) < i);
  return twice ? `Two choices are the same: ${quoted(twice)}.` : null;
}

// The question as an item, or null where a field is wrong; each such field says why.
export function read() {
  const values = typed();
  const item = {
    id: "page", skill: values.skill, passage: values.passage.trim(), question: values.question.trim(),
    choices: choicesOf(values.choices),
  };
  const target = values.target.trim();
  if (target) item.target = target;
  const found = [
    [by("ask-passage"), aboutPassage(item)],
    [by("ask-target"), aboutTarget(item)],
    [by("ask-question"), item.question ? null : "There is no question yet: copy it as it stands."],
    [by("ask-choices"), aboutChoices(item.choices)],
  ].filter(([, words]) => words);
  return complaints(by("ask"), found) ? item : null;
}

export function begin() {
  const before = kept("question");
  if (before) fill(before);
  watch(by("ask"));
  by("ask").addEventListener("input", () => keep("question", typed()));
  // Another kind may need other fields.
  by("ask-skill").addEventListener("change", () => settle(by("ask")));
  by("ask-example").addEventListener("click", example);
}

// An example takes the place of what was typed; the same button brings that back.
let own = null;
function example() {
  const now = typed();
  const isOwn = FIELDS.some((name) => name !== "skill" && now[name].trim() && now[name] !== EXAMPLE[name]);
  const back = !isOwn && own;
  if (isOwn) own = now;
  fill(back || EXAMPLE);
  if (back) own = null;
  by("ask-example").textContent = own ? "Back to my question" : "Fill in an example";
}
