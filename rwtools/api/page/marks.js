// Drawing a passage: marks that can be chosen, and the words that a chosen mark speaks of.
import { make } from "./api.js";
import { overlay } from "./links.js";

export const NAMES = {
  transition: "joins ideas",
  meaning: "the text gives its meaning",
  sound: "well marked",
  fault: "fault",
};
const SKILLS = {
  transition: "joining words", vocabulary: "word meaning", punctuation: "punctuation", grammar: "grammar",
};
export const skillName = (skill) => SKILLS[skill] || skill.replaceAll("_", " ");
const ROLES = {
  arg1: "first part", arg2: "second part", reason: "reason", result: "result", term: "word",
  gloss: "meaning", cue: "signal", clause: "clause", subject: "subject", verb: "verb",
  antecedent: "stands for", modifier: "describes", word: "word",
};
const SECOND = new Set(["arg2", "gloss", "verb", "antecedent", "result"]);
const style = (role) => (SECOND.has(role) ? "two" : role === "cue" ? "cue" : "one");

export const roleName = (role) => ROLES[role] || role.replaceAll("_", " ");
export const markOf = (clue) => (["sound", "fault"].includes(clue.label) ? clue.label : kindOf(clue));
const kindOf = (clue) => (clue.kind in NAMES ? clue.kind : clue.kind === "punctuation" || clue.kind === "grammar" ? "sound" : "meaning");

// Where clues overlap only one can be drawn: faults first, then joins, meanings, sound marks.
export function drawn(clues) {
  const order = ["fault", "transition", "meaning", "sound"];
  const ranked = clues
    .map((clue, index) => ({ clue, index }))
    .sort((a, b) => order.indexOf(markOf(a.clue)) - order.indexOf(markOf(b.clue)) || a.index - b.index);
  const taken = [];
  for (const entry of ranked) {
    const { start_utf16: start, end_utf16: end } = entry.clue;
    if (!taken.some((t) => start < t.clue.end_utf16 && t.clue.start_utf16 < end)) taken.push(entry);
  }
  return taken.sort((a, b) => a.clue.start_utf16 - b.clue.start_utf16);
}

// The roles worth drawing: one name for one stretch, and no stretch twice.
export function layers(evidence) {
  const seen = new Set();
  return (evidence || []).filter((e) => {
    const key = `${e.start_utf16}-${e.end_utf16}`;
    if (e.start_utf16 === undefined || e.end_utf16 <= e.start_utf16 || seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

// Draw `text` into `place`. `onChoose(index)` is called for a chosen mark.
export function draw(place, text, { clues = [], chosen = null, evidence = null, plain = false, onChoose = null } = {}) {
  const shown = layers(evidence);
  place.dir = "auto";
  const parts = [];
  let at = 0;
  for (const { clue, index } of drawn(clues)) {
    if (clue.start_utf16 > at) parts.push({ start: at, end: clue.start_utf16 });
    parts.push({ start: clue.start_utf16, end: clue.end_utf16, clue, index });
    at = Math.max(at, clue.end_utf16);
  }
  if (at < text.length) parts.push({ start: at, end: text.length });

  place.replaceChildren(
    ...parts.map(({ start, end, clue, index }) => {
      const inside = pieces(text, start, end, shown);
      if (!clue) return make("span", {}, ...inside);
      const name = plain ? "signal" : markOf(clue);
      const mark = make("span", {
        class: plain ? "mark hidden-kind" : `mark ${name}`,
        role: "button",
        tabindex: "0",
        "aria-pressed": String(index === chosen),
        "aria-label": `${text.slice(start, end) || "missing mark"}, ${plain ? "a signal" : NAMES[name]}`,
        "data-index": index,
        "data-start": start,
      }, ...(inside.length ? inside : [make("span", { class: "gap" }, "\u2038")]));
      const choose = () => onChoose && onChoose(index);
      mark.addEventListener("click", choose);
      mark.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") {
          event.preventDefault();
          choose();
        }
      });
      return mark;
    }),
  );
  overlay(place, shown.map((e) => ({ ...e, style: style(e.role), name: e.role ? roleName(e.role) : "" })));
}

function pieces(text, start, end, shown) {
  const cuts = new Set([start, end]);
  for (const e of shown) {
    if (e.start_utf16 > start && e.start_utf16 < end) cuts.add(e.start_utf16);
    if (e.end_utf16 > start && e.end_utf16 < end) cuts.add(e.end_utf16);
  }
  const points = [...cuts].sort((a, b) => a - b);
  const made = [];
  for (let i = 0; i + 1 < points.length; i++) {
    const [from, to] = [points[i], points[i + 1]];
    // The shortest stretch that covers these words is the one to show.
    const over = shown
      .filter((e) => e.start_utf16 <= from && to <= e.end_utf16)
      .sort((a, b) => a.end_utf16 - a.start_utf16 - (b.end_utf16 - b.start_utf16))[0];
    if (!over) made.push(document.createTextNode(text.slice(from, to)));
    else {
      made.push(make("span", { class: `ev ${style(over.role)}`, "data-from": from }, text.slice(from, to)));
    }
  }
  return made;
}
