// @ts-check
// The shelf's page: files that are dropped or chosen are sent and put on the shelf.

import { Problem, ask, upload, wordsOf } from "./asking.js";
import { takeFiles } from "./dropping.js";
import { followJob } from "./following.js";
import { readMarkup } from "./markup.js";
import { recordSound } from "./sound_recorder.js";
import { say } from "./words.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("bring"));
const told = /** @type {HTMLElement} */ (document.getElementById("bring-told"));
const wrong = /** @type {HTMLElement} */ (document.getElementById("bring-error"));
const box = /** @type {HTMLElement} */ (document.getElementById("job"));
/** @type {Set<number>} */
const own = new Set();

/** @param {unknown} error */
function showError(error) {
  wrong.textContent = wordsOf(error);
  wrong.hidden = false;
}

// what stands on the shelf now, in place of what the page was made with; what is being typed stays
async function showAnew() {
  const made = readMarkup(await (await fetch(location.href)).text());
  for (const place of ["said", "on-shelf", "undoing"]) {
    const anew = made.querySelector(`#${place}`);
    if (anew) document.getElementById(place)?.replaceWith(anew);
  }
  told.textContent = "";
  const next = /** @type {HTMLElement | null} */ (made.querySelector("#job"));
  if (next && !next.hidden && box.hidden) follow(Number(next.dataset.job));
}

/** @param {number} job */
function follow(job) {
  own.add(job);
  box.dataset.job = String(job);
  box.hidden = false;
}

followJob(box, (error) => {
  if (error) showError(error);
  else showAnew().catch(showError);
});

/** @param {File[]} files */
async function send(files) {
  wrong.hidden = true;
  const ids = [];
  for (const file of files) {
    const sent = await upload(file, file.name, (share) => {
      told.textContent = say("studio.sending", { name: file.name, percent: Math.round(100 * share) });
    });
    ids.push(sent.upload);
  }
  return ids;
}

/** @param {File[]} files */
async function put(files) {
  try {
    const ids = await send(files);
    const tags = new FormData(form).get("tags");
    const begun = await ask("/add", { upload: ids, tags: String(tags ?? "") });
    follow(begun.job);
    told.textContent = say("shelfpage.sent", { count: ids.length });
  } catch (error) {
    showError(error);
  }
}

takeFiles(form, /** @type {HTMLInputElement} */ (document.getElementById("files")), put);

// what a job of its own has put on the shelf is shown too where another is followed since, and what it could not is said
document.addEventListener("jobs", (event) => {
  for (const job of /** @type {CustomEvent<import("./main.js").Job[]>} */ (event).detail) {
    if (!own.has(job.number) || !job.ended) continue;
    own.delete(job.number);
    if (String(job.number) === box.dataset.job) continue;
    if (job.error) showError(new Problem(job.error));
    else showAnew().catch(showError);
  }
});

// a tune that is played or sung: what is heard in it is looked for
const play = /** @type {HTMLButtonElement} */ (document.getElementById("play-tune"));
const playTold = /** @type {HTMLElement} */ (document.getElementById("play-told"));
/** @type {Awaited<ReturnType<typeof recordSound>> | null} */
let recording = null;
/** @type {number | null} */
let tuneJob = null;

/** @param {unknown} error */
function showTuneError(error) {
  recording = null;
  play.setAttribute("aria-pressed", "false");
  playTold.textContent = wordsOf(error);
}

play.addEventListener("click", async () => {
  try {
    if (!recording) {
      recording = await recordSound();
      play.setAttribute("aria-pressed", "true");
      playTold.textContent = say("shelfpage.playing");
      return;
    }
    const { sound, ending } = await recording.stop();
    recording = null;
    play.setAttribute("aria-pressed", "false");
    playTold.textContent = say("shelfpage.hearing");
    const sent = await upload(sound, `tune.${ending}`);
    tuneJob = (await ask("/find-tune", { upload: sent.upload })).job;
  } catch (error) {
    showTuneError(error);
  }
});

document.addEventListener("jobs", (event) => {
  for (const job of /** @type {CustomEvent<import("./main.js").Job[]>} */ (event).detail) {
    if (job.number !== tuneJob || !job.ended) continue;
    tuneJob = null;
    if (job.error) showTuneError(new Problem(job.error));
    else location.assign(job.link);
  }
});

const zip = /** @type {HTMLInputElement} */ (document.getElementById("zip"));
zip.addEventListener("change", async () => {
  const file = zip.files?.[0];
  if (!file) return;
  try {
    const [id] = await send([file]);
    follow((await ask("/import", { upload: id })).job);
    told.textContent = say("shelfpage.sent", { count: 1 });
  } catch (error) {
    showError(error);
  }
});
