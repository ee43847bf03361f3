// @ts-check
// The typed source: sent at every keystroke; what can't be read is marked in the line where it stands.

/** @typedef {import("./bench.js").Told} Told */

const text = /** @type {HTMLTextAreaElement} */ (document.getElementById("text"));
const format = /** @type {HTMLSelectElement} */ (document.getElementById("format"));
const marks = /** @type {HTMLElement} */ (document.getElementById("marks"));
/** @type {NonNullable<Told["problems"]>} */
let problems = [];
let sent = text.value;

/** @param {string} line @param {number} number */
function marked(line, number) {
  /** @type {Node[]} */
  const parts = [];
  let from = 0;
  for (const wrong of problems.filter((one) => one.line === number)) {
    const at = Math.max(from, (wrong.column || 1) - 1);
    const mark = document.createElement("mark");
    mark.textContent = line.slice(at, at + wrong.length) || " ";
    parts.push(document.createTextNode(line.slice(from, at)), mark);
    from = at + wrong.length;
  }
  return [...parts, document.createTextNode(`${line.slice(from)}\n`)];
}

function mark() {
  marks.replaceChildren(...text.value.split("\n").flatMap((line, index) => marked(line, index + 1)));
  text.setAttribute("aria-invalid", problems.length ? "true" : "false");
  marks.scrollTop = text.scrollTop;
  marks.scrollLeft = text.scrollLeft;
}

/** @param {Told} told */
export function showSource(told) {
  // what was typed meanwhile is newer than what is told
  if (text.value === sent && told.text !== undefined && text.value !== told.text) {
    text.value = sent = told.text;
  }
  problems = told.text === text.value ? told.problems || [] : problems;
  mark();
}

/** @param {(fields: Record<string, string>) => void} command */
export function watchSource(command) {
  text.addEventListener("input", () => {
    sent = text.value;
    problems = [];
    mark();
    command({ do: "type", text: text.value, format: format.value });
  });
  format.addEventListener("change", () => command({ do: "type", text: text.value, format: format.value }));
  text.addEventListener("scroll", mark);
  mark();
}
