// One page, four desks. The address says which desk is open, so that Back works.
import { trouble } from "./api.js";
import * as marks from "./class.js";
import * as drill from "./drill.js";
import * as question from "./question.js";
import * as read from "./read.js";

const TITLES = { read: "Read", question: "Question", drill: "Drill", marks: "Class" };
const DESKS = Object.keys(TITLES);

function open() {
  const named = location.hash.slice(1).split("?")[0];
  const desk = DESKS.includes(named) ? named : "read";
  for (const name of DESKS) document.getElementById(`desk-${name}`).hidden = name !== desk;
  for (const link of document.querySelectorAll("[data-desk]")) {
    if (link.dataset.desk === desk) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  document.title = `${TITLES[desk]} · rwtools: which words decide, and why`;
  if (desk === "drill") drill.enter();
}

function light() {
  const button = document.getElementById("light");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const set = (on) => {
    document.documentElement.dataset.light = on ? "dark" : "day";
    button.setAttribute("aria-pressed", String(on));
  };
  const kept = localStorage.getItem("rwtools.light");
  set(kept ? kept === "dark" : dark.matches);
  button.addEventListener("click", () => {
    const on = button.getAttribute("aria-pressed") !== "true";
    localStorage.setItem("rwtools.light", on ? "dark" : "day");
    set(on);
  });
}

light();
question.begin();
drill.begin();
marks.begin();
// The address names the desk (and may hold a token), so the skip link leaves it alone.
document.querySelector(".skip").addEventListener("click", (event) => {
  event.preventDefault();
  document.getElementById("work").focus();
});
document.getElementById("to-drill").addEventListener("click", () => {
  drill.fromText();
  location.hash = "drill";
});
window.addEventListener("hashchange", () => {
  trouble(null);
  open();
});
await read.begin();
drill.resume();
open();
document.body.dataset.ready = "yes";
