// The names of the parts and the lines that join them to the chosen mark, laid over a passage.
import { make } from "./api.js";

const SVG = "http://www.w3.org/2000/svg";
const watched = new WeakMap();

// Parts: [{ start_utf16, end_utf16, style, name }]. Laid out anew whenever the passage changes size.
export function overlay(place, parts) {
  const layer = make("div", { class: "links", "aria-hidden": "true" });
  place.append(layer);
  watched.get(place)?.disconnect();
  watched.delete(place);
  if (!parts.length) return;
  const lay = () => layer.replaceChildren(...drawing(place, layer, parts));
  const observer = new ResizeObserver(() => lay());
  observer.observe(place);
  watched.set(place, observer);
}

function shape(tag, attributes) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}

// The boxes, line by line, of the words of a part, measured from the passage's corner.
function boxes(place, part) {
  const base = place.getBoundingClientRect();
  return [...place.querySelectorAll(".ev")]
    .filter((e) => Number(e.dataset.from) >= part.start_utf16 && Number(e.dataset.from) < part.end_utf16)
    .flatMap((e) => [...e.getClientRects()])
    .filter((r) => r.width > 0)
    .map((r) => ({ left: r.left - base.left, right: r.right - base.left, top: r.top - base.top, bottom: r.bottom - base.top }));
}

function drawing(place, layer, parts) {
  const svg = shape("svg", {});
  const mark = place.querySelector('.mark[aria-pressed="true"]');
  const base = place.getBoundingClientRect();
  const names = [];
  for (const part of parts) {
    const found = boxes(place, part);
    if (!found.length) continue;
    if (part.name) names.push({ text: part.name, left: found[0].left, top: found[0].top });
    if (!mark) continue;
    const [r] = mark.getClientRects();
    const from = { x: (r.left + r.right) / 2 - base.left, top: r.top - base.top, bottom: r.bottom - base.top };
    const before = part.start_utf16 < Number(mark.dataset.start);
    const box = before ? found.at(-1) : found[0];
    const x = Math.max(2, Math.min(base.width - 2, before ? box.right - 5 : box.left + 5));
    svg.append(...line(from, x, box, part.style));
  }
  layer.replaceChildren();
  return [svg, ...labels(names, layer, base.width)];
}

// On one line the link dips below the words; between lines it runs from edge to edge.
function line(from, x, box, style) {
  const same = Math.abs(box.bottom - from.bottom) < 12;
  const above = box.bottom < from.top;
  const y0 = same || !above ? from.bottom + 1 : from.top - 1;
  const y1 = same || above ? box.bottom + 1 : box.top - 1;
  const bend = same ? 11 : (y1 - y0) / 2;
  const [c0, c1] = same ? [y0 + bend, y1 + bend] : [y0 + bend, y1 - bend];
  return [
    shape("path", { class: style, d: `M${from.x} ${y0}C${from.x} ${c0} ${x} ${c1} ${x} ${y1}` }),
    shape("circle", { class: style, cx: x, cy: y1, r: 3 }),
  ];
}

// A name stands over the first word of its part; names that would collide move to the right.
function labels(names, layer, width) {
  const made = names.map((n) => ({ ...n, element: make("span", { class: "part" }, n.text) }));
  layer.append(...made.map((n) => n.element));
  const placed = [];
  for (const n of made.sort((a, b) => a.top - b.top || a.left - b.left)) {
    const size = n.element.getBoundingClientRect();
    const top = n.top - size.height + 2;
    let left = n.left;
    for (const p of placed)
      if (Math.abs(p.top - top) < size.height && left < p.right + 3 && p.left < left + size.width) left = p.right + 3;
    left = Math.max(0, Math.min(left, width - size.width));
    Object.assign(n.element.style, { left: `${left}px`, top: `${top}px` });
    placed.push({ top, left, right: left + size.width });
  }
  return made.map((n) => n.element);
}
