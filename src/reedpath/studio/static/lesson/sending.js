// @ts-check
// Films sent and jobs followed, on the pages of a lesson.

import { Problem, ask, upload } from "../asking.js";
import { say, tell } from "../words.js";

/** @typedef {import("../main.js").Job} Job */

/**
 * Send films, then begin their lining up; the number of the job.
 * @param {string} address
 * @param {{file: Blob, name: string}[]} films
 * @param {string} piece
 * @param {(text: string) => void} told
 * @returns {Promise<number>}
 */
export async function sendFilms(address, films, piece, told) {
  const ids = [];
  for (const { file, name } of films) {
    const sent = await upload(file, name, (share) => {
      told(say("studio.sending", { name, percent: Math.round(100 * share) }));
    });
    ids.push(sent.upload);
  }
  told("");
  return (await ask(address, { upload: ids, piece })).job;
}

/**
 * Show in a box how far its job is, and say when it is over.
 * @param {HTMLElement} box
 * @param {(error: Error | null) => void} ended
 */
export function followJob(box, ended) {
  document.addEventListener("jobs", (event) => {
    const jobs = /** @type {CustomEvent<Job[]>} */ (event).detail;
    const job = jobs.find((one) => String(one.number) === box.dataset.job);
    if (!job || box.hidden) return;
    const bar = /** @type {HTMLProgressElement} */ (box.querySelector("progress"));
    bar.value = job.share;
    const says = /** @type {HTMLElement} */ (box.querySelector(".job-says"));
    says.textContent = [job.name, job.state_says, job.ended ? "" : job.step, job.left].filter(Boolean).join(" · ");
    if (!job.ended) return;
    box.hidden = true;
    tell(`${job.name}: ${job.state_says}`);
    if (job.error) ended(new Problem(job.error));
    else if (job.state === "done") ended(null);
  });
  box.querySelector("button")?.addEventListener("click", () => {
    ask(`/work/${box.dataset.job}/cancel`, {}).catch(ended);
  });
}

/**
 * Begin jobs by forms of a page, and follow them in a box.
 * @param {HTMLElement} box
 * @param {(error: Error) => void} failed
 */
export function beginJobs(box, failed) {
  for (const form of document.querySelectorAll("form.begin")) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const own = /** @type {HTMLFormElement} */ (form);
      const fields = Object.fromEntries([...new FormData(own)].map(([name, value]) => [name, String(value)]));
      try {
        const begun = await ask(own.action, fields);
        box.dataset.job = String(begun.job);
        box.hidden = false;
        box.scrollIntoView({ block: "nearest" });
      } catch (error) {
        failed(error instanceof Error ? error : new Error(String(error)));
      }
    });
  }
}
