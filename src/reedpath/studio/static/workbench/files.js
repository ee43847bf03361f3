// @ts-check
// Files that are dropped, and the microphone: both are sent, and read by a job.

import { ask, upload, wordsOf } from "../asking.js";
import { takeFiles } from "../dropping.js";
import { recordSound } from "../sound_recorder.js";
import { say } from "../words.js";

/** @param {string} draft */
export function watchFiles(draft) {
  const drop = /** @type {HTMLElement} */ (document.getElementById("drop"));
  const input = /** @type {HTMLInputElement} */ (document.getElementById("file"));
  const button = /** @type {HTMLButtonElement} */ (document.getElementById("record"));
  const says = /** @type {HTMLElement} */ (document.getElementById("recording-says"));

  /**
   * @param {Blob} file
   * @param {string} name
   */
  async function bring(file, name) {
    says.textContent = say("workbench.bringing", { name });
    try {
      const sent = await upload(file, name);
      const of = /** @type {HTMLSelectElement} */ (document.getElementById("of")).value;
      const which = /** @type {HTMLInputElement} */ (document.getElementById("which")).value;
      await ask(`/workbench/${draft}/bring`, { upload: sent.upload, of, which });
      says.textContent = "";
    } catch (error) {
      says.textContent = wordsOf(error);
    }
  }

  takeFiles(drop, input, ([file]) => bring(file, file.name));

  /** @type {Awaited<ReturnType<typeof recordSound>> | null} */
  let recording = null;
  button.addEventListener("click", async () => {
    try {
      if (!recording) {
        recording = await recordSound();
        button.setAttribute("aria-pressed", "true");
        says.textContent = say("workbench.recording_now");
        return;
      }
      const { sound, ending } = await recording.stop();
      recording = null;
      button.setAttribute("aria-pressed", "false");
      const at = new Date().toISOString().slice(0, 16).replace("T", " ").replace(":", ".");
      await bring(sound, `${at}.${ending}`);
    } catch (error) {
      recording = null;
      says.textContent = say("workbench.no_microphone", { why: wordsOf(error) });
    }
  });
}
