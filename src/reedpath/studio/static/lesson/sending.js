// @ts-check
// Films sent and jobs begun, on the pages of a lesson.

import { ask, upload } from "../asking.js";
import { say } from "../words.js";

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
