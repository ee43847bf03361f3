// @ts-check
// Sounds: a part is asked for, made by a job, played, and its notes lit while they sound.

import { ask, wordsOf } from "../asking.js";
import { say } from "../words.js";
import { sound } from "./pictures.js";

export function watchSounds() {
  const player = /** @type {HTMLAudioElement} */ (document.getElementById("sound"));
  const says = /** @type {HTMLElement} */ (document.getElementById("play-says"));
  /** @type {[number, number, number][]} */
  let notes = [];
  let ticking = 0;

  function tick() {
    const at = player.currentTime;
    sound(new Set(notes.filter(([, start, end]) => start <= at && at < end).map(([event]) => event)));
    ticking = player.paused ? 0 : requestAnimationFrame(tick);
  }
  player.addEventListener("play", () => (ticking ||= requestAnimationFrame(tick)));
  player.addEventListener("ended", () => sound(new Set()));

  document.addEventListener("submit", async (event) => {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (form.id !== "play-form") return;
    event.preventDefault();
    const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
    if (button?.name === "band-take") {
      /** @type {HTMLInputElement} */ (document.getElementById("play-band")).checked = true;
    }
    says.textContent = say("workbench.sounding");
    const fields = Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]));
    if (button?.name) fields[button.name] = button.value;
    try {
      const made = await ask(form.action, fields);
      notes = made.notes;
      player.hidden = false;
      player.src = made.sound;
      says.textContent = "";
      await player.play().catch(() => {});
    } catch (error) {
      says.textContent = wordsOf(error);
    }
  });
}
