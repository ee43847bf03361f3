// @ts-check
// The prompter: what is said, large and at speaking pace; on by a key or a pedal, counted in, recorded part by part.

import { wordsOf } from "../asking.js";
import { say, tell } from "../words.js";
import { CountIn } from "./count_in.js";
import { Recording } from "./recording.js";
import { followJob } from "../following.js";
import { sendFilms } from "./sending.js";

const KEY = "reedpath-pedal";
const root = /** @type {HTMLElement} */ (document.getElementById("prompter"));
const stage = /** @type {HTMLElement} */ (document.getElementById("stage"));
const wrong = /** @type {HTMLElement} */ (document.getElementById("wrong"));
const pages = /** @type {HTMLElement[]} */ ([...document.querySelectorAll(".prompt")]);
const recording = new Recording(() => tellState());
const counting = new CountIn((beat, isCount) => {
  element("beat").textContent = isCount ? String(beat) : "";
});
let at = 0;
let line = 0;
let isOpen = false;
let isHeld = false;
let isChoosing = false;
let pace = 0;
let pedal = localStorage.getItem(KEY) ?? "";

/** @param {string} id @returns {HTMLElement} */
function element(id) {
  return /** @type {HTMLElement} */ (document.getElementById(id));
}

/** @param {string} id @returns {HTMLInputElement} */
function field(id) {
  return /** @type {HTMLInputElement} */ (document.getElementById(id));
}

/** @param {unknown} error */
function showError(error) {
  wrong.textContent = wordsOf(error);
  wrong.hidden = false;
}

// ----------------------------------------------------------------------------------------------------------- what is said

/** The lines of the part that is on. */
const lines = () => /** @type {HTMLElement[]} */ ([...(pages[at]?.querySelectorAll(".said") ?? [])]);

function show() {
  pages.forEach((one, index) => (one.hidden = isOpen && index !== at));
  lines().forEach((one, index) => {
    one.classList.toggle("past", isOpen && index < line);
    one.classList.toggle("now", isOpen && index === line);
  });
  if (!isOpen) return;
  lines()[line]?.scrollIntoView({ block: "center" });
  const title = pages[at]?.querySelector("h2")?.textContent ?? "";
  element("where").textContent = say("prompter.where", { number: at + 1, count: pages.length, title });
  tellState();
}

function tellState() {
  const state = element("state");
  const records = recording.recorder !== null;
  state.classList.toggle("recording", records);
  state.dataset.bytes = String(records ? recording.bytes : 0);
  state.textContent = records
    ? say("prompter.recording", { take: recording.count(at), size: Math.round(recording.bytes / 1000) })
    : isHeld ? say("prompter.held") : "";
}

/** Go on by itself when a line has been said, as fast as is spoken. */
function speak() {
  clearTimeout(pace);
  if (!isOpen || isHeld || line >= lines().length - 1) return;
  const words = (lines()[line]?.textContent ?? "").trim().split(/\s+/).length;
  const perMinute = Math.min(240, Math.max(60, Number(field("pace").value) || 130));
  pace = window.setTimeout(() => {
    line += 1;
    show();
    speak();
  }, (60_000 * Math.max(words, 3)) / perMinute);
}

/** @param {number} part */
function turnTo(part) {
  counting.stop();
  element("beat").textContent = "";
  const records = recording.stream !== null;
  recording.stop(true);
  at = Math.min(pages.length - 1, Math.max(0, part));
  line = 0;
  if (records) recording.start(at);
  show();
  speak();
}

function forward() {
  if (line < lines().length - 1) {
    line += 1;
    show();
    return speak();
  }
  if (at === pages.length - 1) return leave();
  turnTo(at + 1);
}

function back() {
  if (line === 0) return turnTo(at - 1);
  line = 0;
  show();
  speak();
}

/** The part once more: what was recorded of it is left out, and can be taken back at the end. */
function retake() {
  recording.stop(false);
  turnTo(at);
}

function hold() {
  isHeld = !isHeld;
  tellState();
  speak();
}

function count() {
  if (counting.runs) {
    counting.stop();
    element("beat").textContent = "";
    return;
  }
  const bpm = Number(field("tempo").value) || 100;
  counting.start({ bpm, beats: Math.max(1, Number(field("beats").value) || 4), goesOn: field("click").checked });
}

// ------------------------------------------------------------------------------------------------------- opened and left

async function open() {
  isOpen = true;
  isHeld = false;
  root.classList.add("open");
  for (const id of ["top", "bottom"]) element(id).hidden = false;
  root.style.setProperty("transform", field("mirror").checked ? "scaleX(-1)" : "");
  stage.focus();
  await root.requestFullscreen?.().catch(() => undefined);
  if (recording.stream) recording.start(at);
  show();
  speak();
}

async function leave() {
  if (!isOpen) return;
  isOpen = false;
  clearTimeout(pace);
  counting.stop();
  element("beat").textContent = "";
  recording.stop(true);
  root.classList.remove("open");
  root.style.removeProperty("transform");
  for (const id of ["top", "bottom"]) element(id).hidden = true;
  if (document.fullscreenElement) await document.exitFullscreen().catch(() => undefined);
  show();
  await recording.settled();
  listTakes();
  element("open").focus();
}

document.addEventListener("fullscreenchange", () => {
  if (!document.fullscreenElement && isOpen) leave();
});

/** @type {Record<string, () => unknown>} */
const KEYS = {
  PageDown: forward, " ": forward, ArrowRight: forward, ArrowDown: forward, Enter: forward, PageUp: back,
  ArrowLeft: back, ArrowUp: back, r: retake, R: retake, c: count, C: count, p: hold, P: hold, Escape: leave,
};

addEventListener("keydown", (event) => {
  if (isChoosing) {
    event.preventDefault();
    isChoosing = false;
    if (event.key !== "Escape") pedal = event.key;
    localStorage.setItem(KEY, pedal);
    return tellPedal();
  }
  if (!isOpen || event.ctrlKey || event.metaKey || event.altKey) return;
  // a button that is reached by Tab is pressed by Space and Enter as any other
  const isButton = event.target instanceof HTMLButtonElement && (event.key === " " || event.key === "Enter");
  const does = event.key === pedal ? forward : isButton ? undefined : KEYS[event.key];
  if (!does || event.repeat) return;
  event.preventDefault();
  does();
});

function tellPedal() {
  const name = pedal === " " ? "Space" : pedal;
  element("pedal-says").textContent = isChoosing ? say("prompter.press_key") : name ? say("prompter.key_is", { key: name }) : "";
}

for (const [id, does] of Object.entries({ open, back, forward, count, retake, hold, finish: leave })) {
  element(id).addEventListener("click", () => does());
}
element("pedal").addEventListener("click", () => {
  isChoosing = true;
  tellPedal();
});
tellPedal();

// ------------------------------------------------------------------------------------------------------------- recorded

field("record").addEventListener("change", async () => {
  const video = /** @type {HTMLVideoElement} */ (element("own"));
  const says = element("camera-says");
  if (!field("record").checked) {
    recording.close();
    video.hidden = true;
    says.textContent = "";
    return;
  }
  if (!Recording.isPossible) {
    field("record").checked = false;
    says.textContent = say("prompter.cannot_record");
    return;
  }
  try {
    video.srcObject = await recording.open();
    video.hidden = false;
    await video.play();
    says.textContent = say("prompter.ready");
  } catch (error) {
    field("record").checked = false;
    says.textContent = say("prompter.no_camera", { why: wordsOf(error) });
  }
});

function listTakes() {
  const list = element("take-list");
  element("takes").hidden = recording.takes.length === 0;
  list.replaceChildren(
    ...recording.takes.map((one) => {
      const item = document.createElement("li");
      const label = document.createElement("label");
      const box = document.createElement("input");
      box.type = "checkbox";
      box.checked = one.kept;
      box.addEventListener("change", () => (one.kept = box.checked));
      const title = pages[one.part]?.querySelector("h2")?.textContent ?? "";
      const seconds = Math.round(one.seconds * 10) / 10;
      label.append(box, " ", say("prompter.take", { title, take: one.take, seconds }));
      item.append(label);
      return item;
    }),
  );
}

addEventListener("beforeunload", (event) => {
  if (recording.takes.some((one) => one.kept) && !element("takes").dataset.sent) event.preventDefault();
});

const box = element("job");
followJob(box, (error) => {
  if (error) return showError(error);
  location.href = String(root.dataset.film);
});

element("line-up").addEventListener("click", async () => {
  try {
    const told = (/** @type {string} */ text) => (element("sending").textContent = text);
    const job = await sendFilms(String(root.dataset.address), recording.films, root.dataset.piece ?? "", told);
    element("takes").dataset.sent = "1";
    box.dataset.job = String(job);
    box.hidden = false;
    tell(say("prompter.ready"));
  } catch (error) {
    showError(error);
  }
});

show();
