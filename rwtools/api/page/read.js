// The Read desk: a passage with its signals, a note about the chosen one, three steps of help.
import { busy, call, make, trouble } from "./api.js";
import { complain, complaints, keep, kept, settle, watch } from "./forms.js";
import { list, title } from "./list.js";
import { beside, draw, drawn } from "./marks.js";
import { NAMES, hundred, isWeak, markOf, parts, topic } from "./names.js";
import { reveal } from "./sight.js";

const by = (id) => document.getElementById(id);
const state = { text: "", clues: [], chosen: null, listed: false, reveal: "all", examples: [], example: -1 };

export const currentText = () => state.text;

export async function show(text) {
  by("passage").setAttribute("aria-busy", "true");
  try {
    const data = await call("/v1/hint", { passage: text });
    Object.assign(state, { text, clues: data.clues, chosen: null });
    redraw();
  } finally {
    by("passage").removeAttribute("aria-busy");
  }
}

const ownSpan = (clue) => (e) => e.start !== clue.start || e.end !== clue.end;

function redraw() {
  const plain = state.reveal === "where";
  const clue = state.clues[state.chosen];
  draw(by("passage"), state.text, {
    clues: state.clues,
    chosen: state.chosen,
    plain,
    evidence: clue && state.reveal === "all" ? clue.evidence.filter(ownSpan(clue)) : null,
    rule: clue?.rule,
    onChoose: choose,
  });
  legend(plain);
  note(clue);
  list({ clues: state.clues, chosen: state.chosen, told: !plain, onChoose: fromList });
}

const marked = (index) => by("passage").querySelector(`[data-index="${index}"]`);

function choose(index) {
  Object.assign(state, { chosen: state.chosen === index ? null : index, listed: false });
  redraw();
  marked(index)?.focus({ preventScroll: !window.matchMedia("(max-width: 60rem)").matches });
}

// The note is in sight beside the list, so the reader's place in the list can stay.
function fromList(index) {
  Object.assign(state, { chosen: state.chosen === index ? null : index, listed: true });
  redraw();
  listed(index).focus({ preventScroll: true });
}

const listed = (index) => by("signals").querySelector(`[data-clue="${index}"]`);

function close() {
  const { chosen } = state;
  state.chosen = null;
  redraw();
  (state.listed ? listed(chosen) : marked(chosen))?.focus({ preventScroll: true });
}

function legend(plain) {
  const shown = drawn(state.clues).map((e) => e.clue);
  const used = plain ? [] : Object.keys(NAMES).filter((n) => shown.some((c) => markOf(c) === n));
  by("legend").replaceChildren(
    ...(plain
      ? [make("li", {}, "Each underlined place is a signal. What kind? Try to say before you go on.")]
      : used.map((n) => make("li", {}, make("span", { class: n }, NAMES[n])))),
    ...(!plain && shown.some(isWeak) ? [make("li", {}, make("span", { class: "perhaps" }, "with “?”: perhaps, a doubtful mark"))] : []),
  );
}

function note(clue) {
  const place = by("note");
  place.scrollTop = 0;
  if (!clue) place.replaceChildren(...overview());
  else place.replaceChildren(
    make("h2", { class: "quote" }, clue.quote.trim() ? title(clue) : "A mark is missing here"),
    ...(state.reveal === "where" ? guess() : told(clue)),
    ...others());
}

function overview() {
  const count = state.clues.length;
  if (!count)
    return [
      make("h2", {}, "No signal found"),
      make("p", {}, "This page found no joining word that it knows, no word that the text explains, and no fault. It reads English only."),
      make("p", { class: "tag" }, "A text without marks is not therefore correct."),
    ];
  const places = drawn(state.clues).length;
  const weak = state.clues.filter(isWeak).length;
  return [
    make("h2", {}, `${count} signal${count === 1 ? "" : "s"}`),
    make("p", {}, [
      `Choose ${places === 1 ? "the marked place" : `one of the ${places} marked places`}${places < count ? " (some have more than one signal)" : ""}`,
      state.reveal === "where"
        ? " and guess its kind: does it join ideas, give a meaning, or mark a boundary? Step 2 tells you."
        : ": with the mouse, a finger, or Tab and Enter."].join("")),
    weak && state.reveal !== "where" ? make("p", {}, `${weak} of them ${weak === 1 ? "is" : "are"} doubtful, drawn lighter and with a “?”.`) : null,
    make("p", { class: "tag" }, "What has no mark is not therefore correct: the page marks only what its rules know."),
  ].filter(Boolean);
}

function guess() {
  return [
    make("p", {}, "Look here. What does this place do: does it join two ideas, give a meaning, or mark a boundary? Guess first."),
    make("div", { class: "tools" }, make("button", { type: "button", onclick: () => setReveal("why") }, "Tell me why")),
  ];
}

function told(clue) {
  const kind = markOf(clue);
  const doubt = isWeak(clue)
    ? make("p", { class: "doubt" }, `Perhaps. This mark is doubtful: of 100 marks like it, about ${hundred(clue.confidence)} are right. If it is right, then:`)
    : null;
  return [
    make("p", { class: "tag" }, `${doubt ? "perhaps " : ""}${NAMES[kind]}: ${topic(clue)}`),
    doubt,
    make("p", {}, clue.explanation),
    ...(state.reveal === "all" ? details(clue) : [
      make("div", { class: "tools" }, make("button", { type: "button", onclick: () => setReveal("all") }, "Show me in the text"))]),
  ].filter(Boolean);
}

// Signals at the same place, and the way from the list to the text.
function others() {
  const tools = beside(state.clues, state.chosen).map(({ clue, index }) =>
    make("button", { type: "button", class: "quiet", onclick: () => choose(index) },
      `Also here: ${title(clue)}${state.reveal === "where" ? "" : `, ${topic(clue)}`}`));
  if (state.listed)
    tools.push(make("button", { type: "button", class: "quiet", onclick: toText }, "Go to it in the text"));
  return tools.length ? [make("div", { class: "tools" }, ...tools)] : [];
}

function toText() {
  const mark = marked(state.chosen);
  mark.focus({ preventScroll: true });
  reveal([mark, ...by("passage").querySelectorAll(".ev")], by("note"));
}

function details(clue) {
  const found = [];
  const shown = parts(clue.evidence.filter(ownSpan(clue)), clue.rule);
  if (shown.length)
    found.push(make("dl", {}, ...shown.flatMap((e) => [make("dt", {}, e.name), make("dd", {}, title(e))])));
  if (clue.fix.length) found.push(make("p", { class: "better" }, "Better: ", make("span", { class: "quote" }, mended(clue))));
  const rule = clue.label === "sound" ? topic(clue) : clue.rule;
  found.push(make("p", { class: "tag" }, `rule: ${rule} · how sure: ${hundred(clue.confidence)} of 100`));
  return found;
}

function mended(clue) {
  const { text } = state;
  let left = Math.max(0, Math.min(...clue.fix.map((f) => f.start_utf16)) - 30);
  let right = Math.min(text.length, Math.max(...clue.fix.map((f) => f.end_utf16)) + 30);
  while (left > 0 && !/\s/.test(text[left - 1])) left--;
  while (right < text.length && !/\s/.test(text[right])) right++;
  let words = text.slice(left, right);
  for (const f of [...clue.fix].sort((a, b) => b.start - a.start))
    words = words.slice(0, f.start_utf16 - left) + f.replacement + words.slice(f.end_utf16 - left);
  return `${left ? "… " : ""}${words.replace(/\s+/g, " ").trim()}${right < text.length ? " …" : ""}`;
}

export function setReveal(level) {
  // The button in the note that asked for more is gone after this: the note itself takes its place.
  const within = by("note").contains(document.activeElement);
  state.reveal = level;
  for (const button of document.querySelectorAll("[data-reveal]"))
    button.setAttribute("aria-pressed", String(button.dataset.reveal === level));
  redraw();
  if (within) by("note").focus({ preventScroll: true });
}

async function nextExample() {
  if (!state.examples.length) state.examples = await call("/v1/examples");
  state.example = (state.example + 1) % state.examples.length;
  await show(state.examples[state.example].passage);
  keep("text", null);
}

function ownForm() {
  const own = by("own");
  const toggle = (open) => {
    own.hidden = !open;
    for (const id of ["edit", "another", "to-drill"]) by(id).hidden = open;
    settle(own);
    trouble(null);
    (open ? by("own-text") : by("edit")).focus();
  };
  by("own-text").value = kept("own") || "";
  by("own-text").addEventListener("input", () => keep("own", by("own-text").value));
  watch(own);
  by("edit").addEventListener("click", () => toggle(true));
  by("own-close").addEventListener("click", () => toggle(false));
  by("own-file").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    by("own-text").value = await file.text();
    complain(by("own-text"), null);
    keep("own", by("own-text").value);
  });
  own.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = by("own-text").value;
    if (!complaints(own, text.trim() ? [] : [[by("own-text"), "There is no text yet. Paste or type one here."]])) return;
    busy(own.querySelector("[type=submit]"), "Reading …", async () => {
      await show(text);
      keep("text", text);
      toggle(false);
      // The form stood below the text: what was asked for is above it.
      const sheet = own.closest(".sheet");
      if (sheet.getBoundingClientRect().top < 0) sheet.scrollIntoView({ block: "start" });
    });
  });
}

export async function begin() {
  for (const button of document.querySelectorAll("[data-reveal]"))
    button.addEventListener("click", () => setReveal(button.dataset.reveal));
  by("another").addEventListener("click", () => busy(by("another"), "Reading …", nextExample));
  document.addEventListener("keydown", (event) => {
    const here = !by("desk-read").hidden && !by("own").contains(event.target);
    if (event.key === "Escape" && here && state.chosen !== null) close();
  });
  ownForm();
  const text = kept("text");
  await busy(by("another"), "Reading …", () => (text ? show(text) : nextExample()));
}
