// @ts-check
// What every page does: tell that scripts run, and how many jobs are at work.

import { connect } from "./asking.js";

document.documentElement.classList.add("runs");

/** @typedef {{number: number, name: string, title: string, state: string, state_says: string, ended: boolean, share: number, step: string, left: string, link: string, error: {says: string, hint: string | null} | null}} Job */

/** @param {Job[]} jobs */
function show(jobs) {
  const running = document.getElementById("running");
  const count = jobs.filter((one) => !one.ended).length;
  if (running) {
    running.textContent = String(count);
    running.hidden = count === 0;
  }
  document.dispatchEvent(new CustomEvent("jobs", { detail: jobs }));
}

connect("/progress", show);
