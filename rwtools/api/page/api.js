// Talking to the local API. Every failure becomes one plain sentence.

const token = new URLSearchParams(location.hash.split("?")[1] || "").get("token");

export async function call(path, body, { form = false } = {}) {
  const headers = { Accept: "application/json" };
  if (token) headers.Authorization = `Bearer ${token}`;
  const options = { headers };
  if (body !== undefined) {
    options.method = "POST";
    options.body = form ? body : JSON.stringify(body);
    if (!form) headers["Content-Type"] = "application/json";
  }
  let answer;
  try {
    answer = await fetch(path, options);
  } catch {
    throw new Error("The local server does not answer. Is it still running?");
  }
  const kind = answer.headers.get("content-type") || "";
  const data = kind.includes("json") ? await answer.json() : await answer.text();
  if (!answer.ok) throw new Error(data.detail ? sentence(data) : `The server said ${answer.status}.`);
  return data;
}

function sentence(problem) {
  const text = problem.detail[0].toUpperCase() + problem.detail.slice(1);
  return problem.field && !text.includes(problem.field) ? `${text} (${problem.field})` : text;
}

export function trouble(error) {
  const place = document.getElementById("trouble");
  place.hidden = !error;
  place.textContent = error ? error.message || String(error) : "";
  if (error) place.scrollIntoView({ block: "nearest" });
}

// Work that a button starts: meanwhile it says so and is off; the keyboard's place stays on it.
export async function busy(button, says, work) {
  const words = button.textContent;
  const held = document.activeElement === button;
  button.disabled = true;
  button.textContent = says;
  try {
    trouble(null);
    return await work();
  } catch (error) {
    trouble(error);
    return undefined;
  } finally {
    button.disabled = false;
    button.textContent = words;
    if (held && document.activeElement === document.body) button.focus({ preventScroll: true });
  }
}

// Build an element; text is always text, never HTML.
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((c) => c !== null && c !== undefined));
  return element;
}

export const quoted = (text) => `“${text.replace(/\s+/g, " ").trim()}”`;
