// @ts-check
// What both screens share: the microphone and the line to the tracker opened, what is heard drawn in the next frame, the
// delay from the one to the other counted and shown.

import { Problem, wordsOf } from "../asking.js";
import { say, tell } from "../words.js";
import { Delays, Onsets } from "./delays.js";
import { openLine } from "./line.js";
import { NoMicrophone, openMicrophone } from "./microphone.js";

/** @typedef {import("./microphone.js").Block} Block */
/** @typedef {import("./line.js").Answer} Answer */
/** @typedef {Awaited<ReturnType<typeof openMicrophone>>} Microphone */

// milliseconds between two showings of the delay
const TOLD = 1000;

/** @param {string} id */
export const byId = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

/** @param {string} id */
export const dataIn = (id) => JSON.parse(byId(id).textContent || "null");

/** @param {unknown} error */
export function showProblem(error) {
  const wrong = byId("wrong");
  wrong.textContent =
    error instanceof NoMicrophone ? say(`rehearse.no_microphone_${error.kind}`) : wordsOf(error);
  wrong.hidden = false;
  tell(wrong.textContent);
}

function tellDelay(/** @type {Delays} */ delays, /** @type {number} */ dropped) {
  const place = byId("delay");
  const [middle, most] = [delays.at(0.5), delays.at(0.95)];
  place.textContent = say("rehearse.delay", { middle: Math.round(middle), most: Math.round(most) });
  place.dataset.median = String(middle);
  place.dataset.p95 = String(most);
  place.dataset.count = String(delays.count);
  place.dataset.dropped = String(dropped);
}

/**
 * Open microphone and tracker; resolves when the tracker listens.
 * @param {{
 *   live: string,
 *   secondsOf: (block: Block, microphone: Microphone) => number,
 *   take?: (block: Block) => void,
 *   draw: (answers: Answer[]) => void,
 *   lost: () => void,
 * }} screen live: address of the tracker, its rate left out. secondsOf: when a block sounds, from beat 0. draw: called in
 *   every frame with what has come since the last. lost: the microphone was taken away.
 */
export async function openHearing(screen) {
  byId("wrong").hidden = true;
  const delays = new Delays();
  const onsets = new Onsets();
  /** @type {import("./line.js").Heard[]} */
  let waiting = [];
  let isOver = false;
  let told = 0;
  /** @type {ReturnType<typeof openLine> | null} */
  let line = null;

  /** @param {Block} block */
  function take(block) {
    onsets.hear(block);
    screen.take?.(block);
    line?.send(block, screen.secondsOf(block, microphone));
  }

  const microphone = await openMicrophone(take, () => {
    close();
    showProblem(new NoMicrophone("lost"));
    screen.lost();
  });
  const changed = byId("changed");
  changed.hidden = microphone.changed.length === 0;
  changed.textContent = microphone.changed.length
    ? say("rehearse.changed", { what: microphone.changed.map((name) => say(`rehearse.${name}`)).join(", ") })
    : "";
  byId("microphone").textContent = microphone.name || say("rehearse.unnamed");

  function frame() {
    if (isOver) return;
    requestAnimationFrame(frame);
    const come = waiting;
    waiting = [];
    screen.draw(come.map((one) => one.answer));
    const now = Date.now();
    for (const one of come) {
      delays.add(now - one.heard);
      const named = one.answer.marks.some((mark) => mark !== null) ? onsets.drawn(one.heard, now) : null;
      document.dispatchEvent(new CustomEvent("drawn", { detail: { delay: now - one.heard, named } }));
    }
    if (now - told > TOLD && line) {
      told = now;
      tellDelay(delays, line.gate.dropped);
    }
  }

  function close() {
    isOver = true;
    line?.close();
    return microphone.close();
  }

  await new Promise((ready) => {
    const rate = microphone.context.sampleRate;
    line = openLine(`${screen.live}&rate=${rate}`, {
      ready: () => ready(undefined),
      heard: (one) => waiting.push(one),
      lost: () => tell(say("rehearse.line_lost")),
    });
  });
  requestAnimationFrame(frame);
  return { microphone, close };
}

/**
 * The number in the middle of some, the lower of two.
 * @param {number[]} values
 */
export function middleOf(values) {
  return [...values].sort((a, b) => a - b)[(values.length - 1) >> 1] ?? 0;
}

const signed = new Intl.NumberFormat(document.documentElement.lang || "en", { maximumFractionDigits: 0, signDisplay: "exceptZero" });

/**
 * Cents with their sign, as the language writes them.
 * @param {number} cents
 */
export const signedCents = (cents) => signed.format(cents);

/**
 * Resolves when a job is done; fails with what it says.
 * @param {number} number
 */
export function jobEnded(number) {
  return new Promise((done, failed) => {
    /** @param {globalThis.Event} event */
    const look = (event) => {
      const jobs = /** @type {CustomEvent<import("../main.js").Job[]>} */ (event).detail;
      const job = jobs.find((one) => one.number === number);
      if (!job?.ended) return;
      document.removeEventListener("jobs", look);
      if (job.error) failed(new Problem(job.error));
      else done(undefined);
    };
    document.addEventListener("jobs", look);
  });
}
