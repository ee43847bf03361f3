// @ts-check
// The page of a teacher's film: films dropped in, and the cut on its time line, kept at once.

import { ask, wordsOf } from "../asking.js";
import { takeFiles } from "../dropping.js";
import { say } from "../words.js";
import { followJob } from "../following.js";
import { beginJobs, sendFilms } from "./sending.js";
import { TimeLine } from "./time_line.js";

/** @typedef {import("./time_line.js").Stretch} Stretch */
/** @typedef {{films: {name: string, seconds: number, address: string, loudness: number[]}[], pieces: Stretch[], clocks: {film: number, other: number, offset_seconds: number, rate: number}[]}} Cut */

const wrong = /** @type {HTMLElement} */ (document.getElementById("wrong"));
const box = /** @type {HTMLElement} */ (document.getElementById("job"));
const bring = /** @type {HTMLFormElement} */ (document.getElementById("bring"));
const told = /** @type {HTMLElement} */ (document.getElementById("bring-told"));
const piece = String(new FormData(bring).get("piece") ?? "");

/** @param {unknown} error */
function showError(error) {
  wrong.textContent = wordsOf(error);
  wrong.hidden = false;
}

beginJobs(box, showError);
followJob(box, (error) => (error ? showError(error) : location.reload()));

/** @param {File[]} files */
async function send(files) {
  wrong.hidden = true;
  try {
    const films = files.map((file) => ({ file, name: file.name }));
    box.dataset.job = String(await sendFilms(bring.action, films, piece, (text) => (told.textContent = text)));
    box.hidden = false;
  } catch (error) {
    showError(error);
  }
}

takeFiles(bring, /** @type {HTMLInputElement} */ (document.getElementById("files")), send);

// --------------------------------------------------------------------------------------------------------------- the cut

const data = document.getElementById("timeline");
if (data) cutting(JSON.parse(data.textContent || "{}"));

/** @param {Cut} cut */
function cutting(cut) {
  const video = /** @type {HTMLVideoElement} */ (document.getElementById("film"));
  const length = /** @type {HTMLElement} */ (document.getElementById("length"));
  const form = /** @type {HTMLFormElement} */ (document.getElementById("cut-form"));
  const svg = /** @type {SVGSVGElement} */ (/** @type {unknown} */ (document.getElementById("time-line")));
  const playing = /** @type {HTMLButtonElement} */ (document.getElementById("play-cut"));
  let shown = -1;
  let through = -1; // index of the stretch that is played, while what stays is played through
  let turn = Promise.resolve();

  const line = new TimeLine(svg, cut.films, cut.pieces, {
    changed: () => {
      tellLength();
      fill();
      turn = turn.then(() => keep());
    },
    sought: (film, seconds, one) => show(one.seen ?? film, there(film, one.seen ?? film, seconds)),
  });

  /**
   * The time of one film at a moment of another that was taken together with it.
   * @param {number} film
   * @param {number} other
   * @param {number} seconds
   */
  function there(film, other, seconds) {
    /** @param {number} one */
    const clock = (one) => cut.clocks.find((each) => each.film === one) ?? { offset_seconds: 0, rate: 1 };
    if (film === other) return seconds;
    const whole = clock(film).offset_seconds + clock(film).rate * seconds;
    return (whole - clock(other).offset_seconds) / clock(other).rate;
  }

  function tellLength() {
    const kept = line.stretches.filter((one) => one.keep).reduce((sum, one) => sum + one.end_seconds - one.start_seconds, 0);
    const whole = cut.films.reduce((sum, one) => sum + one.seconds, 0);
    length.textContent = say("lessonfilm.length", { kept: Math.round(kept * 10) / 10, whole: Math.round(whole * 10) / 10 });
  }

  /** The table says what the time line says. */
  function fill() {
    line.stretches.forEach((one, index) => {
      for (const [name, value] of [["start", one.start_seconds], ["end", one.end_seconds]]) {
        const field = form.elements.namedItem(`${name} ${index}`);
        if (field instanceof HTMLInputElement) field.value = Number(value).toFixed(2);
      }
      const box = form.elements.namedItem(`keep ${index}`);
      if (box instanceof HTMLInputElement) box.checked = one.keep;
    });
  }

  /**
   * @param {Record<string, string>} [more]
   * @param {boolean} [again] whether the page is shown anew, since the stretches are others
   */
  async function keep(more = {}, again = false) {
    /** @type {Record<string, string>} */
    const fields = { piece, ...more };
    line.stretches.forEach((one, index) => {
      fields[`start ${index}`] = String(one.start_seconds);
      fields[`end ${index}`] = String(one.end_seconds);
      if (one.keep) fields[`keep ${index}`] = "1";
      fields[`seen ${index}`] = String(one.seen ?? one.film);
    });
    try {
      const done = await ask(form.action, fields);
      wrong.hidden = true;
      if (again) location.reload();
      else length.title = done.told;
    } catch (error) {
      showError(error);
    }
  }

  /**
   * @param {number} film
   * @param {number} seconds
   */
  function show(film, seconds) {
    const start = () => (video.currentTime = seconds);
    if (film === shown) start();
    else {
      shown = film;
      video.src = cut.films[film].address;
      video.addEventListener("loadedmetadata", start, { once: true });
    }
  }

  video.addEventListener("timeupdate", () => {
    const [film, seconds] = moment();
    line.now(film, seconds);
    if (through < 0) return;
    if (seconds >= line.stretches[through].end_seconds - 0.02) next(through + 1);
  });

  /**
   * Film and time of the stretch that the video shows, by whichever camera.
   * @returns {[number, number]}
   */
  function moment() {
    const now = through < 0 ? line.sought : line.stretches[through];
    if (!now || (now.seen ?? now.film) !== shown) return [Math.max(0, shown), video.currentTime];
    return [now.film, there(shown, now.film, video.currentTime)];
  }

  /** @param {number} from */
  function next(from) {
    through = line.stretches.findIndex((one, index) => index >= from && one.keep);
    playing.textContent = say(through < 0 ? "lessonfilm.play_cut" : "lessonfilm.pause");
    if (through < 0) return video.pause();
    const one = line.stretches[through];
    show(one.seen ?? one.film, there(one.film, one.seen ?? one.film, one.start_seconds));
    video.play().catch(showError);
  }

  playing.addEventListener("click", () => {
    if (through < 0) return next(0);
    through = -1;
    video.pause();
    playing.textContent = say("lessonfilm.play_cut");
  });
  document.getElementById("split")?.addEventListener("click", () => {
    const [film, seconds] = moment();
    const at = line.at(film, seconds);
    if (at >= 0) turn = turn.then(() => keep({ split: `${at} ${seconds.toFixed(3)}` }, true));
  });
  document.getElementById("closer")?.addEventListener("click", () => line.zoom(1.5));
  document.getElementById("farther")?.addEventListener("click", () => line.zoom(1 / 1.5));
  form.addEventListener("change", (event) => {
    const field = event.target;
    if (field instanceof HTMLInputElement && field.name.startsWith("place ")) {
      turn = turn.then(() => keep({ [field.name]: field.value }, true));
      return;
    }
    line.stretches.forEach((one, index) => {
      const [start, end] = ["start", "end"].map((name) => form.elements.namedItem(`${name} ${index}`));
      if (start instanceof HTMLInputElement && end instanceof HTMLInputElement) {
        if (Math.abs(Number(start.value) - one.start_seconds) >= 0.01) one.start_seconds = Number(start.value);
        if (Math.abs(Number(end.value) - one.end_seconds) >= 0.01) one.end_seconds = Number(end.value);
      }
      const box = form.elements.namedItem(`keep ${index}`);
      if (box instanceof HTMLInputElement) one.keep = box.checked;
      const seen = form.elements.namedItem(`seen ${index}`);
      if (seen instanceof HTMLSelectElement) one.seen = Number(seen.value) === one.film ? null : Number(seen.value);
    });
    line.draw();
    tellLength();
    turn = turn.then(() => keep());
  });
  tellLength();
  show(0, 0);
}
