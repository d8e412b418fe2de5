// The Read desk: a passage with its signals, a note about the chosen one, three steps of help.
import { call, make, quoted, trouble } from "./api.js";
import { NAMES, draw, layers, markOf, roleName } from "./marks.js";

const by = (id) => document.getElementById(id);
const state = { text: "", clues: [], chosen: null, reveal: "all", examples: [], example: -1 };

export const currentText = () => state.text;

export async function show(text) {
  const data = await call("/v1/hint", { passage: text });
  Object.assign(state, { text, clues: data.clues, chosen: null });
  redraw();
}

function redraw() {
  const plain = state.reveal === "where";
  const clue = state.clues[state.chosen];
  draw(by("passage"), state.text, {
    clues: state.clues,
    chosen: state.chosen,
    plain,
    evidence: clue && state.reveal === "all" ? clue.evidence.filter((e) => e.start !== clue.start || e.end !== clue.end) : null,
    onChoose: choose,
  });
  legend(plain);
  note(clue);
  list();
}

function choose(index) {
  state.chosen = state.chosen === index ? null : index;
  redraw();
  const mark = by("passage").querySelector(`[data-index="${index}"]`);
  if (mark) mark.focus({ preventScroll: !window.matchMedia("(max-width: 60rem)").matches });
}

function legend(plain) {
  const used = plain ? [] : Object.keys(NAMES).filter((n) => state.clues.some((c) => markOf(c) === n));
  by("legend").replaceChildren(
    ...(plain
      ? [make("li", {}, "Each underlined place is a signal. What kind? Try to say before you go on.")]
      : used.map((n) => make("li", {}, make("span", { class: n }, NAMES[n])))),
  );
}

function note(clue) {
  const place = by("note");
  if (!clue) {
    const count = state.clues.length;
    place.replaceChildren(
      make("h2", {}, count ? `${count} signal${count === 1 ? "" : "s"}` : "No signal found"),
      make("p", {}, count
        ? "Choose a marked place in the text (mouse, finger, or Tab and Enter)."
        : "This text joins its ideas without special words, and gives no word's meaning."),
    );
    return;
  }
  const children = [make("h2", { class: "quote" }, clue.quote.trim() ? quoted(clue.quote) : "A mark is missing here")];
  if (state.reveal === "where") {
    children.push(
      make("p", {}, "Look here. What does this place do: does it join two ideas, give a meaning, or mark a boundary?"),
      make("div", { class: "tools" }, make("button", { type: "button", onclick: () => setReveal("why") }, "Tell me why")),
    );
  } else {
    const kind = markOf(clue);
    children.push(
      make("p", { class: "tag" }, kind === clue.label ? NAMES[kind] : `${NAMES[kind]}: ${clue.label}`),
      make("p", {}, clue.explanation),
    );
    if (state.reveal === "all") children.push(...details(clue));
    else children.push(make("div", { class: "tools" }, make("button", { type: "button", onclick: () => setReveal("all") }, "Show me in the text")));
  }
  place.replaceChildren(...children);
}

function details(clue) {
  const found = [];
  const shown = layers(clue.evidence).filter((e) => e.start !== clue.start || e.end !== clue.end);
  if (shown.length)
    found.push(make("dl", {}, ...shown.flatMap((e) => [make("dt", {}, roleName(e.role)), make("dd", {}, quoted(e.quote))])));
  if (clue.fix.length) found.push(make("p", { class: "better" }, "Better: ", make("span", { class: "quote" }, mended(clue))));
  found.push(make("p", { class: "tag" }, `rule: ${clue.rule} · how sure: ${Math.round(clue.confidence * 100)} of 100`));
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

function list() {
  const counts = new Map();
  for (const clue of state.clues) {
    const kind = markOf(clue);
    const name = ["sound", "fault"].includes(clue.label) ? `${NAMES[kind]}: ${clue.rule.replaceAll("-", " ")}` : `${NAMES[kind]}: ${clue.label}`;
    counts.set(name, (counts.get(name) || 0) + 1);
  }
  const rows = [...counts].sort((a, b) => b[1] - a[1] || a[0].localeCompare(b[0]));
  const told = state.reveal !== "where";
  by("signals").replaceChildren(
    told ? make("table", {},
      make("caption", { class: "tag" }, "How many of each kind"),
      make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "What"), make("th", { scope: "col", class: "number" }, "How many"))),
      make("tbody", {}, ...rows.map(([name, n]) => make("tr", {}, make("td", {}, name), make("td", { class: "number" }, String(n))))),
    ) : make("p", {}, "Step 2 tells what kinds they are."),
    make("h2", {}, "One by one"),
    make("ol", { class: "list" }, ...state.clues.map((clue, i) =>
      make("li", {}, make("button", { type: "button", onclick: () => choose(i) },
        `${clue.quote.trim() ? quoted(clue.quote) : "a missing mark"}${told ? ` – ${["sound", "fault"].includes(clue.label) ? NAMES[clue.label] : clue.label}` : ""}`)))),
  );
}

export function setReveal(level) {
  state.reveal = level;
  for (const button of document.querySelectorAll("[data-reveal]"))
    button.setAttribute("aria-pressed", String(button.dataset.reveal === level));
  redraw();
}

async function safely(work) {
  try {
    trouble(null);
    await work();
  } catch (error) {
    trouble(error);
  }
}

async function nextExample() {
  if (!state.examples.length) state.examples = await call("/v1/examples");
  state.example = (state.example + 1) % state.examples.length;
  await show(state.examples[state.example].passage);
}

export function begin() {
  for (const button of document.querySelectorAll("[data-reveal]"))
    button.addEventListener("click", () => setReveal(button.dataset.reveal));
  const own = by("own");
  const toggle = (open) => {
    own.hidden = !open;
    for (const id of ["edit", "another", "to-drill"]) by(id).hidden = open;
    if (open) by("own-text").focus();
    else by("edit").focus();
  };
  by("edit").addEventListener("click", () => toggle(true));
  by("own-close").addEventListener("click", () => toggle(false));
  by("another").addEventListener("click", () => safely(nextExample));
  by("own-file").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (file) by("own-text").value = await file.text();
  });
  own.addEventListener("submit", (event) => {
    event.preventDefault();
    safely(async () => {
      await show(by("own-text").value);
      toggle(false);
    });
  });
  return safely(nextExample);
}
