// @ts-check
// Files that are dropped, and the microphone: both are sent, and read by a job.

import { ask, upload } from "../asking.js";
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
      says.textContent = error instanceof Error ? error.message : String(error);
    }
  }

  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) bring(file, file.name);
    input.value = "";
  });
  drop.addEventListener("dragover", (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    const file = event.dataTransfer?.files[0];
    if (file) bring(file, file.name);
  });

  /** @type {MediaRecorder | null} */
  let recorder = null;
  button.addEventListener("click", async () => {
    if (recorder) {
      recorder.stop();
      return;
    }
    try {
      // what a browser does to voices spoils notes
      const constraints = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
      const stream = await navigator.mediaDevices.getUserMedia({ audio: constraints });
      /** @type {Blob[]} */
      const pieces = [];
      const own = new MediaRecorder(stream, { audioBitsPerSecond: 128000 });
      recorder = own;
      own.ondataavailable = (event) => pieces.push(event.data);
      own.onstop = () => {
        for (const track of stream.getTracks()) track.stop();
        recorder = null;
        button.setAttribute("aria-pressed", "false");
        const type = own.mimeType.includes("ogg") ? "ogg" : own.mimeType.includes("mp4") ? "m4a" : "webm";
        const at = new Date().toISOString().slice(0, 16).replace("T", " ").replace(":", ".");
        bring(new Blob(pieces, { type: own.mimeType }), `${at}.${type}`);
      };
      own.start(1000);
      button.setAttribute("aria-pressed", "true");
      says.textContent = say("workbench.recording_now");
    } catch (error) {
      says.textContent = say("workbench.no_microphone", { why: error instanceof Error ? error.message : String(error) });
    }
  });
}
