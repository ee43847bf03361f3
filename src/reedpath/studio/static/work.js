// @ts-check
// The page of jobs, as they go on.

import { say, tell } from "./words.js";

/** @typedef {import("./main.js").Job} Job */

/** @type {Map<number, string>} */
const states = new Map();

/**
 * @param {Element} item
 * @param {string} selector
 * @param {string} text
 */
function put(item, selector, text) {
  const place = item.querySelector(selector);
  if (place && place.textContent !== text) place.textContent = text;
}

/**
 * @param {Element} item
 * @param {string} selector
 * @param {boolean} hidden
 */
function hide(item, selector, hidden) {
  const place = /** @type {HTMLElement | null} */ (item.querySelector(selector));
  if (place) place.hidden = hidden;
}

/** @param {Job} job */
function show(job) {
  const item = document.getElementById(`job-${job.number}`);
  if (!item) return false;
  item.className = `job ${job.state}`;
  put(item, ".state-says", job.state_says);
  put(item, ".step", job.ended ? "" : job.step);
  put(item, ".left", job.left);
  put(item, ".error", job.error ? [job.error.says, job.error.hint].filter(Boolean).join(" ") : "");
  hide(item, ".error", !job.error);
  hide(item, "progress", job.ended);
  hide(item, "form", job.ended);
  hide(item, ".result", job.state !== "done" || !job.link);
  const bar = item.querySelector("progress");
  if (bar) bar.value = job.share;
  const before = states.get(job.number);
  if (before !== undefined && before !== job.state) tell(`${job.name} ${job.title}: ${job.state_says}`);
  states.set(job.number, job.state);
  return true;
}

document.addEventListener("jobs", (event) => {
  const jobs = /** @type {CustomEvent<Job[]>} */ (event).detail;
  // a job that began since the page was made: the page is made anew
  if (jobs.map(show).includes(false)) location.reload();
});

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (!form.action.endsWith("/cancel")) return;
  event.preventDefault();
  fetch(form.action, { method: "POST", headers: { accept: "application/json" } });
  tell(say("work.cancelling"));
});
