// @ts-check
// The waveform of a recording: a stretch is marked by dragging (or in seconds), the notes heard lie over it.

import { ask, wordsOf } from "../asking.js";
import { followJob } from "../following.js";
import { say } from "../words.js";

/** @typedef {import("./bench.js").Told} Told */
/** @typedef {import("./bench.js").Note} Note */

const SVG = "http://www.w3.org/2000/svg";
const wave = document.getElementById("wave");
const canvas = /** @type {HTMLCanvasElement | null} */ (document.getElementById("wave-canvas"));
const over = /** @type {SVGSVGElement | null} */ (/** @type {unknown} */ (document.getElementById("wave-notes")));
/** @type {{seconds: number, peaks: number[]} | null} */
let found = null;
/** @type {Note[]} */
let notes = [];
let bpm = 100;
// seconds that are played before a note of the recording and after it, so that it is heard among its neighbours. Ours
const LISTEN_BEFORE = 0.6;
const LISTEN_AFTER = 0.4;

const field = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (document.getElementById(id));
/** @returns {[number, number]} */
const stretch = () => [Number(field("hear-start").value) || 0, Number(field("hear-end").value) || (found?.seconds ?? 0)];

function draw() {
  if (!canvas || !over || !found) return;
  const width = (canvas.width = Math.max(200, canvas.parentElement?.clientWidth || 600));
  const { height } = canvas;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const style = getComputedStyle(document.documentElement);
  const [start, end] = stretch();
  pen.fillStyle = style.getPropertyValue("--comb");
  pen.fillRect((start / found.seconds) * width, 0, ((end - start) / found.seconds) * width, height);
  pen.fillStyle = style.getPropertyValue("--text");
  const step = found.peaks.length / width;
  for (let x = 0; x < width; x += 1) {
    const loud = Math.max(0, ...found.peaks.slice(Math.floor(x * step), Math.max(Math.floor(x * step) + 1, Math.floor((x + 1) * step))));
    const tall = Math.max(1, (loud / 100) * (height - 4));
    pen.fillRect(x, (height - tall) / 2, 1, tall);
  }
  over.setAttribute("viewBox", `0 0 ${width} ${height}`);
  const heard = notes.map((note, index) => ({ note, index })).filter(({ note }) => note[4] !== null);
  const pitches = heard.flatMap(({ note }) => note[7]);
  const low = Math.min(...pitches) - 1;
  const high = Math.max(...pitches) + 1;
  over.replaceChildren(
    ...heard.flatMap(({ note, index }) => {
      const x = (Number(note[4]) / (found?.seconds || 1)) * width;
      const wide = Math.max(3, (((note[6] - note[5]) * 60) / bpm / (found?.seconds || 1)) * width - 1);
      return note[7].map((midi) => heardNote(index, note[8], x, height - 6 - ((midi - low) / (high - low)) * (height - 16), wide));
    }),
  );
}

/**
 * A note that was heard, over the wave.
 * @param {number} index
 * @param {boolean} doubtful
 * @param {number} x
 * @param {number} y
 * @param {number} wide
 */
function heardNote(index, doubtful, x, y, wide) {
  const group = document.createElementNS(SVG, "g");
  group.dataset.event = String(index);
  if (doubtful) group.classList.add("doubtful");
  const box = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries({ x, y, width: wide, height: 7, rx: 2 })) box.setAttribute(name, value.toFixed(1));
  group.append(box);
  return group;
}

/** @param {Told} told */
export function showWave(told) {
  notes = told.notes || [];
  bpm = told.bpm || bpm;
  draw();
}

/** @param {string} draft */
export async function watchWave(draft) {
  if (!wave || !canvas) return;
  const picture = /** @type {HTMLElement} */ (document.getElementById("wave-picture"));
  const says = /** @type {HTMLElement} */ (document.getElementById("recording-says"));
  const player = /** @type {HTMLAudioElement} */ (document.getElementById("source-audio"));
  const form = /** @type {HTMLFormElement} */ (document.getElementById("hear-form"));
  /** @param {PointerEvent} event */
  const secondsAt = (event) => {
    const box = canvas.getBoundingClientRect();
    return Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1) * (found?.seconds || 0);
  };
  let from = -1;
  picture.addEventListener("pointerdown", (event) => {
    from = secondsAt(event);
    picture.setPointerCapture(event.pointerId);
  });
  picture.addEventListener("pointermove", (event) => {
    if (from < 0 || !(event.buttons & 1)) return;
    const to = secondsAt(event);
    if (Math.abs(to - from) < 0.05) return;
    field("hear-start").value = Math.min(from, to).toFixed(2);
    field("hear-end").value = Math.max(from, to).toFixed(2);
    draw();
  });
  picture.addEventListener("pointerup", () => (from = -1));
  for (const id of ["hear-start", "hear-end"]) field(id).addEventListener("input", draw);
  /** @param {number} start @param {number} end */
  async function listen(start, end) {
    player.currentTime = Math.max(0, start);
    player.ontimeupdate = () => {
      if (player.currentTime >= end) player.pause();
    };
    await player.play().catch(() => {});
  }
  field("hear-play").addEventListener("click", () => {
    if (player.paused) listen(...stretch());
    else player.pause();
  });
  document.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-listen]"));
    const note = button && notes[Number(button.dataset.listen)];
    if (!note || note[4] === null) return;
    listen(note[4] - LISTEN_BEFORE, note[4] + ((note[6] - note[5]) * 60) / bpm + LISTEN_AFTER);
  });
  const lead = field("hear-lead");
  const leadAlone = () => {
    for (const id of ["hear-harp", "hear-chords", "hear-octaves"]) field(id).disabled = lead.checked;
  };
  lead.addEventListener("change", leadAlone);
  leadAlone();
  const job = /** @type {HTMLElement} */ (document.getElementById("hear-job"));
  followJob(job, (error) => (says.textContent = error ? wordsOf(error) : ""));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    says.textContent = "";
    const fields = Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]));
    try {
      job.dataset.job = String((await ask(form.action, fields)).job);
      job.hidden = false;
    } catch (error) {
      says.textContent = wordsOf(error);
    }
  });
  addEventListener("resize", draw);
  try {
    found = await ask(`/workbench/${draft}/waveform`);
    draw();
  } catch (error) {
    says.textContent = wordsOf(error);
  }
}
