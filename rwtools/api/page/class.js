// The Class desk: questions and answers in, the report out.
import { call, make, trouble } from "./api.js";
import { skillName } from "./marks.js";

const by = (id) => document.getElementById(id);

function download(name, text, type) {
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

export function begin() {
  by("grade").addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = event.submitter;
    button.disabled = true;
    try {
      trouble(null);
      const body = () => {
        const form = new FormData();
        form.append("items", by("grade-items").files[0]);
        form.append("answers", by("grade-answers").files[0]);
        return form;
      };
      const report = await call("/v1/grade", body(), { form: true });
      show(report, async () => download("report.html", await call("/v1/grade?format=html", body(), { form: true }), "text/html"));
    } catch (error) {
      trouble(error);
    } finally {
      button.disabled = false;
    }
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
