// The history of drills on this computer: when, which kind, right or not, how long. No text, no name.
import { make } from "./api.js";
import { skillName } from "./names.js";

const by = (id) => document.getElementById(id);
const STORE = "rwtools.history";
const MOST = 30;

const past = () => {
  try {
    const runs = JSON.parse(localStorage.getItem(STORE));
    return Array.isArray(runs) ? runs : [];
  } catch {
    return [];
  }
};

// A run is known by the time at which it began; each answer saves it anew.
export function save(run) {
  const runs = past();
  const at = runs.findIndex((r) => r.when === run.when);
  if (at < 0) runs.push(run);
  else runs[at] = run;
  try {
    localStorage.setItem(STORE, JSON.stringify(runs));
  } catch {
    // Storage is full or refused: the drill goes on without a history.
  }
  draw();
}

const day = (when) => {
  const date = new Date(when);
  return Number.isNaN(date.getTime()) ? "–" : date.toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
};

function counted(skills) {
  const counts = new Map();
  for (const skill of skills) counts.set(skill, (counts.get(skill) || 0) + 1);
  return [...counts].map(([skill, n]) => (n > 1 ? `${skillName(skill)} (${n})` : skillName(skill))).join(", ");
}

const head = (...names) => make("thead", {}, make("tr", {}, ...names.map(([name, style]) => make("th", { scope: "col", class: style }, name))));

export function draw() {
  const runs = past();
  const results = runs.flatMap((run) => run.results);
  const skills = [...new Set(results.map((r) => r.skill))];
  const rights = (some) => some.filter((r) => r.right).length;
  by("past").replaceChildren(...(runs.length ? [
    make("table", {},
      make("caption", { class: "tag" }, `${runs.length} drill${runs.length === 1 ? "" : "s"} so far`),
      head(["What"], ["Right", "number"], ["Done", "number"]),
      make("tbody", {}, ...skills.map((skill) => {
        const own = results.filter((r) => r.skill === skill);
        return make("tr", {}, make("td", {}, skillName(skill)), make("td", { class: "number" }, String(rights(own))), make("td", { class: "number" }, String(own.length)));
      }))),
    make("table", { id: "runs" },
      make("caption", { class: "tag" }, runs.length > MOST ? `The last ${MOST} drills` : "Drill by drill, the latest first"),
      head(["When"], ["Right", "number"], ["Missed"]),
      make("tbody", {}, ...runs.slice(-MOST).reverse().map((run) =>
        make("tr", {}, make("td", {}, day(run.when)), make("td", { class: "number" }, `${rights(run.results)} of ${run.results.length}`),
          make("td", {}, counted(run.results.filter((r) => !r.right).map((r) => r.skill)) || "none")))))]
    : [make("p", {}, "Nothing yet.")]));
  by("forget").disabled = !runs.length;
}

// Deleting is asked about first; what is deleted is told to `onDeleted`.
export function begin(onDeleted) {
  const ask = (open) => {
    by("forget").hidden = open;
    by("forget-sure").hidden = !open;
  };
  by("forget").addEventListener("click", () => {
    const count = past().length;
    by("forget-words").textContent = `Delete the history of ${count} drill${count === 1 ? "" : "s"}? It cannot be brought back.`;
    ask(true);
    by("forget-no").focus();
  });
  by("forget-no").addEventListener("click", () => {
    ask(false);
    by("forget").focus();
  });
  by("forget-yes").addEventListener("click", () => {
    localStorage.removeItem(STORE);
    onDeleted();
    ask(false);
    draw();
    by("history").querySelector("summary").focus();
  });
}
