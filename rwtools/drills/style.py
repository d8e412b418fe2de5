"""The look of the report: ink on paper, tables first; light, dark and print."""

from __future__ import annotations

__all__ = ["STYLE"]

# Contrast of text on its ground is 7:1 or more in both schemes (a test works it out).
STYLE = """
:root { color-scheme: light dark;
  --paper: #fcfbf8; --ink: #1b2228; --soft: #4a545d; --line: #cfcbc0; --band: #f1eee6;
  --accent: #1d4f63; --mark: #f4e2ab; }
@media (prefers-color-scheme: dark) { :root {
  --paper: #16191c; --ink: #ebe8e1; --soft: #b9bfc3; --line: #434a50; --band: #20252a;
  --accent: #9fd0e0; --mark: #57470f; } }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 62rem; background: var(--paper);
  color: var(--ink); font: 1rem/1.55 Georgia, "Noto Serif", "DejaVu Serif", serif; }
h1, h2, h3, h4, th, nav, .figure, .small, table, figcaption, .tick {
  font-family: "Segoe UI", "Noto Sans", "DejaVu Sans", Verdana, sans-serif; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.25rem; margin: 2.6rem 0 .7rem; padding-bottom: .25rem;
  border-bottom: 2px solid var(--ink); }
h3 { font-size: 1.05rem; margin: 1.6rem 0 .5rem; }
h4 { font-size: .92rem; margin: 1.2rem 0 .2rem; }
p { margin: .4rem 0 .7rem; max-width: 44rem; }
a { color: var(--accent); }
a:focus-visible { outline: 3px solid var(--accent); outline-offset: 2px; }
nav ul { list-style: none; margin: 1rem 0 0; padding: 0; display: flex; flex-wrap: wrap;
  gap: .3rem 1.1rem; font-size: .9rem; }
nav a { display: inline-block; padding: .2rem 0; }
.small { font-size: .85rem; color: var(--soft); }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: .86rem; line-height: 1.4; margin: .6rem 0 1rem;
  font-variant-numeric: tabular-nums; }
caption { text-align: left; color: var(--soft); padding-bottom: .3rem; }
th, td { text-align: left; vertical-align: top; padding: .3rem .9rem .3rem 0;
  border-bottom: 1px solid var(--line); }
thead th { border-bottom: 2px solid var(--line); vertical-align: bottom; }
tbody th { font-weight: 600; min-width: 8rem; }
.s { white-space: nowrap; }
.n { text-align: right; white-space: nowrap; }
.key { font-weight: 700; }
.figures { display: flex; flex-wrap: wrap; gap: .5rem 2.2rem; margin: 1rem 0; padding: 0; }
.figures div { min-width: 8rem; }
.figures dt { font: .82rem "Segoe UI", "Noto Sans", "DejaVu Sans", Verdana, sans-serif;
  color: var(--soft); }
.figures dd { margin: 0; font-size: 1.35rem; }
figure { margin: 1rem 0 1.4rem; }
figure svg { max-width: 100%; height: auto; }
figcaption { font-size: .85rem; color: var(--soft); max-width: 44rem; }
svg.bar { width: 8rem; height: .9rem; vertical-align: -.12rem; }
ol.next { padding-left: 1.4rem; max-width: 44rem; }
ol.next li { margin-bottom: .4rem; }
.miss { border-left: 3px solid var(--line); padding: .1rem 0 .1rem 1rem; margin: 1rem 0;
  max-width: 46rem; break-inside: avoid; }
.miss h4 { margin-top: .1rem; }
.miss p { margin: .25rem 0; }
.passage { white-space: pre-line; background: var(--band); padding: .7rem 1rem; max-width: 46rem; }
mark { background: var(--mark); color: inherit; text-decoration: underline;
  text-underline-offset: .18em; }
.choices { list-style: none; padding: 0; max-width: 46rem; }
.item { break-inside: avoid; margin-bottom: 1.8rem; }
.learner { margin-top: 3rem; }
footer { margin-top: 3rem; padding-top: .8rem; border-top: 1px solid var(--line); }
@media print {
  :root { color-scheme: light; --paper: #fff; --ink: #000; --soft: #333; --line: #999;
    --band: #fff; --accent: #000; --mark: #fff; }
  body { max-width: none; padding: 0; font-size: 10.5pt; }
  nav, .top { display: none; }
  a { text-decoration: none; color: inherit; }
  h2, h3, h4, thead { break-after: avoid; }
  tr, figure { break-inside: avoid; }
  .passage { border: 1px solid var(--line); }
  .learner { break-before: page; margin-top: 0; }
  .scroll { overflow: visible; }
  @page { margin: 16mm 15mm; }
}
"""
