// @ts-check
// A lesson's page: every line is kept as soon as it is left, and so is everything else; what is made is told as it goes on.

import { Problem, ask, wordsOf } from "../asking.js";
import { say } from "../words.js";
import { followJob } from "../following.js";
import { beginJobs } from "./sending.js";

const kept = /** @type {HTMLElement} */ (document.getElementById("kept"));
const wrong = /** @type {HTMLElement} */ (document.getElementById("wrong"));
const box = /** @type {HTMLElement} */ (document.getElementById("job"));
// milliseconds without a key after which a line that is being written is kept
const IDLE = 2500;

/** @param {unknown} error */
function showError(error) {
  wrong.textContent = wordsOf(error);
  wrong.hidden = false;
  wrong.scrollIntoView({ block: "nearest" });
}

// ------------------------------------------------------------------------------------------------------------- lines

/** @type {Map<HTMLTextAreaElement, number>} */
const waiting = new Map();
// one change after the other, so that each is made of the version before
let turn = Promise.resolve();

/** @param {HTMLTextAreaElement} area */
const wasOf = (area) =>
  area.dataset.after
    ? null
    : /** @type {HTMLInputElement | null} */ (
        area.form?.elements.namedItem(`was ${area.dataset.language} ${area.dataset.index}`)
      );

/** @param {HTMLTextAreaElement} area */
function differs(area) {
  const was = wasOf(area);
  return was ? was.value.trim() !== area.value.trim() : area.value.trim() !== "";
}

/**
 * @param {HTMLTextAreaElement} area
 * @param {string} text
 */
function tellAt(area, text) {
  let place = area.parentElement?.querySelector(".wrong");
  if (!place && text) {
    place = document.createElement("p");
    place.className = "error wrong";
    place.setAttribute("role", "alert");
    area.after(place);
  }
  if (place) place.textContent = text;
  if (place && !text) place.remove();
}

/** @param {HTMLTextAreaElement} area */
async function keep(area) {
  clearTimeout(waiting.get(area));
  waiting.delete(area);
  if (!differs(area)) return;
  const form = /** @type {HTMLFormElement} */ (area.form);
  const at = `${area.dataset.language} ${area.dataset.index}`;
  const was = /** @type {HTMLInputElement} */ (form.elements.namedItem(`was ${at}`));
  const said = area.value;
  const field = area.dataset.after ? "note" : "text";
  kept.textContent = say("lesson.keeping");
  try {
    const done = await ask(form.action, {
      piece: form.dataset.piece ?? "", [`was ${at}`]: was.value, [`${field} ${at}`]: said,
    });
    tellAt(area, "");
    kept.textContent = done.told;
    // a note that comes or goes moves the lines after it; a sentence that is the program's again shows so
    if (area.dataset.after || (said.trim() === "" && area.closest(".note"))) await again(area);
    else if (area.value === said) {
      was.value = said.trim();
      if (said.trim() === "" && area.closest(".heading")) await again(area);
    }
  } catch (error) {
    kept.textContent = say("lesson.not_kept");
    tellAt(area, error instanceof Problem ? error.message : String(error));
  }
}

/**
 * Keep what is written elsewhere, then show the page anew at the same place.
 * @param {HTMLTextAreaElement} area
 */
async function again(area) {
  for (const other of waiting.keys()) if (other !== area) other.dispatchEvent(new Event("change"));
  history.replaceState(null, "", location.pathname + location.search);
  sessionStorage.setItem("lesson-scroll", String(scrollY));
  location.reload();
}

const before = sessionStorage.getItem("lesson-scroll");
if (before !== null) {
  sessionStorage.removeItem("lesson-scroll");
  scrollTo(0, Number(before));
}

/** @param {HTMLTextAreaElement} area */
function soon(area) {
  turn = turn.then(() => keep(area));
}

for (const form of document.querySelectorAll("form.lines")) {
  form.addEventListener("input", (event) => {
    const area = /** @type {HTMLTextAreaElement} */ (event.target);
    clearTimeout(waiting.get(area));
    // a note is kept when it is left, since the page is shown anew with it
    waiting.set(area, area.dataset.after ? 0 : window.setTimeout(() => soon(area), IDLE));
  });
  form.addEventListener("change", (event) => soon(/** @type {HTMLTextAreaElement} */ (event.target)));
  form.addEventListener("focusin", (event) => {
    document.querySelector(".row-line.at")?.classList.remove("at");
    /** @type {Element} */ (event.target).closest(".row-line")?.classList.add("at");
  });
  form.addEventListener("click", (event) => {
    const button = /** @type {Element} */ (event.target).closest("button.back");
    const area = button?.closest(".cell")?.querySelector("textarea");
    if (!area) return;
    area.value = area.dataset.program ?? "";
    button?.closest(".program")?.remove();
    area.closest(".cell")?.classList.remove("own");
    soon(area);
    area.focus();
  });
}
addEventListener("beforeunload", (event) => {
  if ([...document.querySelectorAll("form.lines textarea")].some((one) => differs(/** @type {HTMLTextAreaElement} */ (one)))) {
    event.preventDefault();
  }
});

/** Open what holds the place that an address names. */
function openPlace() {
  const place = document.getElementById(location.hash.slice(1));
  for (let one = place?.closest("details"); one; one = one.parentElement?.closest("details") ?? null) one.open = true;
  place?.scrollIntoView();
}
addEventListener("hashchange", openPlace);
if (location.hash) openPlace();

// ------------------------------------------------------------------------------------------------------ what is made

beginJobs(box, showError);
followJob(box, (error) => {
  if (error) return showError(error);
  sessionStorage.setItem("lesson-scroll", String(scrollY));
  location.reload();
});
