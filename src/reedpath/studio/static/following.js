// @ts-check
// A job followed in a box of a page: how far it is, a button to stop it, and word when it is over.

import { Problem, ask } from "./asking.js";
import { tell } from "./words.js";

/** @typedef {import("./main.js").Job} Job */

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
