// Bringing words into sight: on a narrow screen a note covers the lower part of the window.

const calm = () => window.matchMedia("(prefers-reduced-motion: reduce)").matches;

// Scroll until all elements, or at least the first ones, stand between the top and the note.
export function reveal(elements, note) {
  const boxes = [...elements].map((e) => e.getBoundingClientRect()).filter((r) => r.height);
  if (!boxes.length) return;
  const room = 28; // names of parts stand above the words
  const top = Math.min(...boxes.map((r) => r.top)) - room;
  const bottom = Math.max(...boxes.map((r) => r.bottom)) + 8;
  const edge = lowerEdge(note);
  if (top >= 0 && bottom <= edge) return;
  // As little as will do; where not all fits, the beginning is what is shown.
  const by = top < 0 || bottom - top > edge ? top : bottom - edge;
  window.scrollBy({ top: by, behavior: calm() ? "auto" : "smooth" });
}

// A note beside the text covers nothing; one below it stays at the window's lower edge.
function lowerEdge(note) {
  const below = window.matchMedia("(max-width: 60rem)").matches;
  return window.innerHeight - (below ? note.offsetHeight : 0);
}
