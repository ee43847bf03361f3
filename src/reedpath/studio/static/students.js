// @ts-check
// The students' screens: takes dropped in by the dozen and followed until they are answered, and the letter copied.

import { ask, upload, wordsOf } from "./asking.js";
import { takeFiles } from "./dropping.js";
import { say, tell } from "./words.js";

/** @typedef {import("./main.js").Job} Job */

const form = /** @type {HTMLFormElement | null} */ (document.getElementById("takes"));
const told = document.getElementById("takes-told");
const wrong = document.getElementById("takes-error");
const list = document.getElementById("takes-jobs");
/** @type {Map<number, HTMLElement>} */
const followed = new Map();
// files that are still being sent
let sending = 0;

/** @param {unknown} error */
function showError(error) {
  if (!wrong) return;
  const line = document.createElement("span");
  line.textContent = `${wordsOf(error)} `;
  wrong.append(line);
  wrong.hidden = false;
}

/**
 * Follow jobs on this page.
 * @param {number[]} jobs
 * @param {string} name
 */
function follow(jobs, name) {
  for (const number of jobs) {
    const item = document.createElement("li");
    item.textContent = name;
    const bar = document.createElement("progress");
    bar.max = 1;
    bar.setAttribute("aria-label", name);
    item.append(bar);
    list?.append(item);
    followed.set(number, item);
  }
}

/** @param {File[]} files */
async function send(files) {
  if (wrong) {
    wrong.textContent = "";
    wrong.hidden = true;
  }
  sending += files.length;
  for (const file of files) {
    try {
      const sent = await upload(file, file.name, (share) => {
        if (told) told.textContent = say("studio.sending", { name: file.name, percent: Math.round(100 * share) });
      });
      const begun = await ask("/students/takes", { upload: sent.upload, student: form?.dataset.student ?? "" });
      follow(begun.jobs, file.name);
    } catch (error) {
      showError(error);
    }
    sending -= 1;
  }
  if (told) told.textContent = say("studentspage.sent", { count: files.length });
  arrive();
}

/** When all that was sent has been heard, the page shows what came of it, unless something went wrong. */
function arrive() {
  if (sending || followed.size || !wrong?.hidden) return;
  if (list?.childElementCount) location.reload();
}

/** @param {Job} job */
function show(job) {
  const item = followed.get(job.number);
  if (!item) return;
  const bar = item.querySelector("progress");
  if (bar) bar.value = job.share;
  if (!job.ended) return;
  followed.delete(job.number);
  bar?.remove();
  item.append(` - ${job.state_says}`);
  tell(`${job.title}: ${job.state_says}`);
  if (job.error) showError(new Error(`${job.title}: ${[job.error.says, job.error.hint].filter(Boolean).join(" ")}`));
}

document.addEventListener("jobs", (event) => {
  if (!followed.size) return;
  for (const job of /** @type {CustomEvent<Job[]>} */ (event).detail) show(job);
  arrive();
});

if (form) {
  takeFiles(form, /** @type {HTMLInputElement} */ (document.getElementById("files")), send);
}

const copy = document.getElementById("copy");
copy?.addEventListener("click", async () => {
  const text = /** @type {HTMLTextAreaElement} */ (document.getElementById("letter-text"));
  const said = document.getElementById("letter-told");
  try {
    await navigator.clipboard.writeText(text.value);
    if (said) said.textContent = say("studentspage.copied");
  } catch {
    // where the browser does not let pages copy, the text is marked for the keyboard
    text.focus();
    text.select();
    if (said) said.textContent = say("studentspage.marked");
  }
});
