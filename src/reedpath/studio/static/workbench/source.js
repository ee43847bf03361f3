// @ts-check
// The typed source: sent at every keystroke; what can't be read is marked in the line where it stands.

/** @typedef {import("./bench.js").Told} Told */

const text = /** @type {HTMLTextAreaElement} */ (document.getElementById("text"));
const format = /** @type {HTMLSelectElement} */ (document.getElementById("format"));
const marks = /** @type {HTMLElement} */ (document.getElementById("marks"));
/** @type {Told["problem"]} */
let problem = null;
let sent = text.value;

function mark() {
  const lines = text.value.split("\n");
  const wrong = problem && problem.of === "text" && problem.line ? problem : null;
  marks.replaceChildren(
    ...lines.flatMap((line, index) => {
      const end = document.createTextNode("\n");
      if (!wrong || index !== (wrong.line || 0) - 1) return [document.createTextNode(line), end];
      const at = (wrong.column || 1) - 1;
      const marked = document.createElement("mark");
      marked.textContent = line.slice(at, at + wrong.length) || " ";
      return [document.createTextNode(line.slice(0, at)), marked, document.createTextNode(line.slice(at + wrong.length)), end];
    }),
  );
  text.setAttribute("aria-invalid", wrong ? "true" : "false");
  marks.scrollTop = text.scrollTop;
  marks.scrollLeft = text.scrollLeft;
}

/** @param {Told} told */
export function showSource(told) {
  // what was typed meanwhile is newer than what is told
  if (text.value === sent && told.text !== undefined && text.value !== told.text) {
    text.value = sent = told.text;
  }
  problem = told.text === text.value ? told.problem || null : problem;
  mark();
}

/** @param {(fields: Record<string, string>) => void} command */
export function watchSource(command) {
  text.addEventListener("input", () => {
    sent = text.value;
    problem = null;
    mark();
    command({ do: "type", text: text.value, format: format.value });
  });
  format.addEventListener("change", () => command({ do: "type", text: text.value, format: format.value }));
  text.addEventListener("scroll", mark);
  mark();
}
