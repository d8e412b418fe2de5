// Drawing a passage: marks that can be chosen, and the words that a chosen mark speaks of.
import { make } from "./api.js";
import { overlay } from "./links.js";
import { NAMES, isWeak, markOf, parts } from "./names.js";

const SECOND = new Set(["arg2", "gloss", "verb", "antecedent", "result"]);
const style = (role) => (SECOND.has(role) ? "two" : role === "cue" ? "cue" : "one");

export const overlap = (a, b) => a.start_utf16 < b.end_utf16 && b.start_utf16 < a.end_utf16;

// Where clues overlap only one can be drawn: the chosen one, then faults, joins, meanings, sound marks.
export function drawn(clues, chosen = null) {
  const order = ["fault", "transition", "meaning", "sound"];
  const rank = ({ clue, index }) => (index === chosen ? -1 : order.indexOf(markOf(clue)));
  const ranked = clues
    .map((clue, index) => ({ clue, index }))
    .sort((a, b) => rank(a) - rank(b) || a.index - b.index);
  const taken = [];
  for (const entry of ranked)
    if (!taken.some((t) => same(t.clue, entry.clue) || overlap(t.clue, entry.clue))) taken.push(entry);
  return taken.sort((a, b) => a.clue.start_utf16 - b.clue.start_utf16);
}

// Two missing marks at one place have no width, so they never overlap.
const same = (a, b) => a.start_utf16 === b.start_utf16 && a.end_utf16 === b.end_utf16;

// The other clues at the place of a clue.
export const beside = (clues, index) =>
  clues.map((clue, i) => ({ clue, index: i }))
    .filter((e) => e.index !== index && (overlap(e.clue, clues[index]) || same(e.clue, clues[index])));

// Draw `text` into `place`. `onChoose(index)` is called for a chosen mark.
export function draw(place, text, { clues = [], chosen = null, evidence = null, rule = null, plain = false, onChoose = null } = {}) {
  const shown = parts(evidence, rule);
  place.dir = "auto";
  const stretches = [];
  let at = 0;
  for (const { clue, index } of drawn(clues, chosen)) {
    if (clue.start_utf16 > at) stretches.push({ start: at, end: clue.start_utf16 });
    stretches.push({ start: clue.start_utf16, end: clue.end_utf16, clue, index });
    at = Math.max(at, clue.end_utf16);
  }
  if (at < text.length) stretches.push({ start: at, end: text.length });

  place.replaceChildren(
    ...stretches.map(({ start, end, clue, index }) => {
      const inside = pieces(text, start, end, shown);
      if (!clue) return make("span", {}, ...inside);
      const name = plain ? "hidden-kind" : markOf(clue);
      const weak = !plain && isWeak(clue);
      const mark = make("span", {
        class: `mark ${name}${weak ? " weak" : ""}${end - start < 3 ? " small" : ""}`,
        role: "button",
        tabindex: "0",
        "aria-pressed": String(index === chosen),
        "aria-label": `${text.slice(start, end) || "missing mark"}, ${plain ? "a signal" : `${weak ? "perhaps: " : ""}${NAMES[name]}`}`,
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
  overlay(place, shown.map((e) => ({ ...e, style: style(e.role) })));
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
