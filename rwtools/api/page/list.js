// The list of all signals of a text: how many of each kind, and each by its name.
import { make, quoted } from "./api.js";
import { NAMES, isWeak, markOf, topic } from "./names.js";

const by = (id) => document.getElementById(id);

export const title = (clue) => (clue.quote.trim() ? quoted(clue.quote) : "a missing mark");

const kind = (clue) => `${isWeak(clue) ? "perhaps " : ""}${NAMES[markOf(clue)]}: ${topic(clue)}`;

// One button for each clue; the chosen one is pressed.
export function list({ clues, chosen, told, onChoose }) {
  const counts = new Map();
  for (const clue of clues) counts.set(kind(clue), (counts.get(kind(clue)) || 0) + 1);
  const rows = [...counts].sort((a, b) => b[1] - a[1] || a[0].localeCompare(b[0]));
  by("signals").replaceChildren(
    told ? make("table", {},
      make("caption", { class: "tag" }, "How many of each kind"),
      make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "What"), make("th", { scope: "col", class: "number" }, "How many"))),
      make("tbody", {}, ...rows.map(([name, n]) => make("tr", {}, make("td", {}, name), make("td", { class: "number" }, String(n))))),
    ) : make("p", {}, "Step 2 tells what kinds they are."),
    make("h2", {}, "One by one"),
    make("ol", { class: "list" }, ...clues.map((clue, i) =>
      make("li", {}, make("button", { type: "button", "aria-pressed": String(i === chosen), "data-clue": i, onclick: () => onChoose(i) },
        told ? `${title(clue)} – ${kind(clue)}` : title(clue))))),
  );
}
