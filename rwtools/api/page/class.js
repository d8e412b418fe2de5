// The Class desk: questions and answers in, the report out.
import { busy, call, make } from "./api.js";
import { complaints, watch } from "./forms.js";
import { skillName } from "./names.js";

const by = (id) => document.getElementById(id);

function download(name, text, type) {
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

export function begin() {
  watch(by("grade"));
  by("grade").addEventListener("submit", (event) => {
    event.preventDefault();
    const form = by("grade");
    const found = ["grade-items", "grade-answers"].filter((id) => !by(id).files.length)
      .map((id) => [by(id), "Choose a file first."]);
    if (!complaints(form, found)) return;
    busy(form.querySelector("[type=submit]"), "Marking …", async () => {
      const body = () => {
        const data = new FormData();
        data.append("items", by("grade-items").files[0]);
        data.append("answers", by("grade-answers").files[0]);
        return data;
      };
      const report = await call("/v1/grade", body(), { form: true });
      show(report, async () => download("report.html", await call("/v1/grade?format=html", body(), { form: true }), "text/html"));
    });
  });
}

function show(report, save) {
  const rows = report.learners.map((l) => make("tr", {},
    make("th", { scope: "row" }, l.learner),
    make("td", { class: "number" }, `${l.score.right} of ${l.score.given}`),
    make("td", {}, (l.practise_next || []).map((p) => skillName(p.skill)).join(", ") || "–")));
  by("report").hidden = false;
  by("report").replaceChildren(
    make("h2", { tabindex: "-1" }, "The report"),
    make("table", {},
      make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "Learner"), make("th", { scope: "col", class: "number" }, "Right"), make("th", { scope: "col" }, "Practise next"))),
      make("tbody", {}, ...rows)),
    make("div", { class: "tools" },
      make("button", { type: "button", onclick: save }, "Save the full report (HTML)"),
      make("button", { type: "button", class: "quiet", onclick: () => download("report.json", JSON.stringify(report, null, 2), "application/json") }, "Save as JSON")));
  by("report").querySelector("h2").focus();
}
