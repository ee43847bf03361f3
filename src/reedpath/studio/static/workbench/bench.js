// @ts-check
// The workbench: forms are said over a WebSocket, and the panels that change are put in their places.

import { connect } from "../asking.js";
import { say, tell } from "../words.js";
import { focusAgain, put, putRows } from "./panels.js";
import { showPictures, watchPictures } from "./pictures.js";
import { showSource, watchSource } from "./source.js";
import { watchSounds } from "./sounds.js";
import { watchFiles } from "./files.js";
import { showWave, watchWave } from "./wave.js";

const bench = /** @type {HTMLElement} */ (document.querySelector(".bench"));
const draft = bench.dataset.draft || "";

/** @typedef {[tab: string, words: string, held: string, changed: boolean, seconds: number | null, onset: number, end: number, midi: number[], doubtful: boolean]} Note */
// what the studio sends: of panels, rows and notes those that differ from what it sent before
/** @typedef {Omit<Told, "notes"> & {rows?: Record<string, [number, string][]>, notes?: {count: number, differ: [number, Note][]}}} Sent */
/** @typedef {{number: number, panels: Record<string, string>, view?: boolean, answers?: number, text?: string, source?: string, problems?: {line: number, column: number | null, length: number}[], notes?: Note[], ribbon?: {count: number, systems: [number, string][]} | null, staff?: string | null, changed?: number, bpm?: number | null, title?: string, recording?: string, says?: string}} Told */

/** @type {Note[]} */
let notes = [];

/** @param {Sent} sent */
function show(sent) {
  if (sent.says !== undefined) {
    tell(sent.says);
    return;
  }
  for (const [name, html] of Object.entries(sent.panels)) put(name, html);
  for (const [name, rows] of Object.entries(sent.rows || {})) putRows(name, rows);
  if (sent.notes) {
    notes = notes.slice(0, sent.notes.count);
    for (const [index, note] of sent.notes.differ) notes[index] = note;
  }
  /** @type {Told} */
  const told = { ...sent, notes: sent.notes && notes };
  if (told.view && told.notes) {
    showSource(told);
    showPictures(told);
    showWave(told);
    const title = document.getElementById("bench-title");
    if (title && told.title !== undefined) title.textContent = told.title || say("workbench.untitled");
    const wave = document.getElementById("wave");
    if (wave) wave.hidden = !told.recording;
    if (told.recording && told.recording !== bench.dataset.recording) location.reload();
    if (told.changed) tell(say("workbench.changed", { count: told.changed }));
    bench.dataset.answers = String(told.answers || 0);
    bench.dataset.number = String(told.number);
  } else if (told.staff) {
    showPictures(told);
  }
  focusAgain();
}

const layout = () => (innerWidth < 640 ? "phone" : "sheet");

const line = connect(`/workbench/live?draft=${draft}`, show, (open) => {
  const lost = document.getElementById("bench-lost");
  if (lost) lost.hidden = open;
  if (open) {
    line.send({ do: "show", layout: layout() });
    for (const fields of waiting.splice(0)) line.send(fields);
  }
});
/** @type {Record<string, string>[]} */
const waiting = [];

/**
 * Say what a form says; it waits while the studio does not answer.
 * @param {Record<string, string>} fields
 */
export function command(fields) {
  if (!line.send(fields)) waiting.push(fields);
}

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (!form.classList.contains("command")) return;
  event.preventDefault();
  const fields = Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]));
  const button = /** @type {HTMLButtonElement | null} */ (/** @type {SubmitEvent} */ (event).submitter);
  if (button?.name) fields[button.name] = button.value;
  command(fields);
  for (const one of form.querySelectorAll("input")) one.defaultValue = one.value;
});
document.addEventListener("change", (event) => {
  const field = /** @type {HTMLInputElement} */ (event.target);
  const form = field.closest("form.changes-at-once");
  if (!form || !field.name) return;
  field.defaultValue = field.value;
  command({ do: "choose", [field.name]: field.value });
});
addEventListener("keydown", (event) => {
  const inField = /** @type {HTMLElement} */ (event.target).closest("input, textarea, select");
  if (inField || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  event.preventDefault();
  command({ do: event.shiftKey ? "redo" : "undo" });
});

watchSource(command);
watchPictures(command);
watchSounds();
watchFiles(draft);
watchWave(draft);
