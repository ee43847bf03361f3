// @ts-check
// Ribbon, staff and tab: a note chosen on one is chosen on all; notes dragged over are those that a part is made of.

import { putMarkup } from "../markup.js";
import { say, tell } from "../words.js";

/** @typedef {import("./bench.js").Told} Told */
/** @typedef {import("./bench.js").Note} Note */

const ribbon = /** @type {HTMLElement} */ (document.getElementById("ribbon"));
const staff = /** @type {HTMLElement} */ (document.getElementById("staff"));
const tab = /** @type {HTMLElement} */ (document.querySelector("[data-panel=tab]"));
/** @type {Note[]} */
let notes = [];
let chosen = -1;
/** @type {[number, number] | null} */
let range = null;
let current = 0;

/** @param {number} index */
function* placesOf(index) {
  yield* ribbon.querySelectorAll(`[data-event="${index}"]`);
  const written = document.getElementById(`e${index}`);
  if (written) yield written;
  const button = tab.querySelector(`[data-note="${index}"]`);
  if (button) yield button;
}

function light() {
  for (const root of [ribbon, staff, tab]) {
    for (const one of root.querySelectorAll(".chosen, .in-range, .was-changed")) {
      one.classList.remove("chosen", "in-range", "was-changed");
    }
  }
  notes.forEach((note, index) => {
    if (note[3]) for (const one of placesOf(index)) one.classList.add("was-changed");
  });
  if (range) {
    for (let index = range[0]; index <= range[1]; index += 1) {
      for (const one of placesOf(index)) one.classList.add("in-range");
    }
  }
  if (chosen >= 0) for (const one of placesOf(chosen)) one.classList.add("chosen");
  // only what differs is written: each writing makes the browser look at the button's style again
  for (const one of tab.querySelectorAll("[data-note]")) {
    const button = /** @type {HTMLButtonElement} */ (one);
    const index = Number(button.dataset.note);
    const turn = index === current ? 0 : -1;
    const pressed = String(index === chosen);
    if (button.getAttribute("tabindex") !== String(turn)) button.tabIndex = turn;
    if (button.getAttribute("aria-pressed") !== pressed) button.setAttribute("aria-pressed", pressed);
  }
}

/** @param {Told} told */
export function showPictures(told) {
  if (told.notes) notes = told.notes;
  if (told.ribbon) {
    while (ribbon.children.length > told.ribbon.count) ribbon.lastElementChild?.remove();
    for (const [index, svg] of told.ribbon.systems) {
      let system = ribbon.children[index];
      if (!system) {
        system = document.createElement("div");
        system.className = "system";
        ribbon.append(system);
      }
      putMarkup(system, svg);
    }
  } else if (told.notes && !told.notes.length) ribbon.replaceChildren();
  if (told.staff) putMarkup(staff, told.staff);
  else if (told.notes && !told.notes.length) staff.replaceChildren();
  else if (told.notes) {
    // only moves changed: the tab under each note is written where it stands, until the staff is engraved anew
    notes.forEach((note, index) => {
      const under = document.getElementById(`e${index}`)?.querySelector(".syl tspan tspan");
      if (under && under.textContent !== note[0]) under.textContent = note[0];
    });
  }
  if (range && range[1] >= notes.length) range = null;
  if (chosen >= notes.length) chosen = -1;
  current = Math.min(current, Math.max(0, notes.length - 1));
  light();
}

/** @param {EventTarget | Element | null} target */
function noteOf(target) {
  const element = /** @type {Element | null} */ (target);
  const place = element?.closest?.("[data-note], [data-event], #staff g.note, #staff g.chord");
  if (!place) return -1;
  const named = /** @type {HTMLElement} */ (place);
  const text = named.dataset.note ?? named.dataset.event ?? /^e(\d+)/.exec(place.id || place.querySelector("[id^=e]")?.id || "")?.[1];
  return text === undefined ? -1 : Number(text);
}

/** @param {[number, number] | null} next */
function select(next) {
  range = next && [Math.min(...next), Math.max(...next)];
  if (range) {
    for (const [id, value] of /** @type {[string, number][]} */ ([
      ["mark-from", range[0] + 1], ["mark-to", range[1] + 1], ["play-from", range[0] + 1], ["play-to", range[1] + 1],
    ])) {
      const field = /** @type {HTMLInputElement | null} */ (document.getElementById(id));
      if (field) field.value = String(value);
    }
    const count = range[1] - range[0] + 1;
    tell(say("workbench.selected", { count, first: range[0] + 1, last: range[1] + 1 }));
  }
  light();
}

/**
 * Light the notes that sound.
 * @param {Set<number>} sounding
 */
export function sound(sounding) {
  for (const root of [ribbon, staff, tab]) for (const one of root.querySelectorAll(".sounds")) one.classList.remove("sounds");
  for (const index of sounding) for (const one of placesOf(index)) one.classList.add("sounds");
}

/** @param {(fields: Record<string, string>) => void} command */
export function watchPictures(command) {
  /** @param {number} index */
  const look = (index) => {
    chosen = current = index;
    light();
    command({ do: "look", note: String(index + 1) });
  };
  let from = -1;
  for (const root of [ribbon, staff, tab]) {
    root.addEventListener("pointerdown", (event) => {
      from = event.button === 0 ? noteOf(event.target) : -1;
    });
    root.addEventListener("pointermove", (event) => {
      if (from < 0 || !(event.buttons & 1)) return;
      const over = noteOf(document.elementFromPoint(event.clientX, event.clientY));
      if (over >= 0 && (over !== from || range)) select([from, over]);
    });
    root.addEventListener("click", (event) => {
      const index = noteOf(event.target);
      if (index < 0) return;
      event.preventDefault();
      const dragged = range && from >= 0 && (range[0] !== range[1]) && (from === range[0] || from === range[1]);
      from = -1;
      if (dragged) return;
      if (event.shiftKey && chosen >= 0) select([chosen, index]);
      else {
        select(null);
        look(index);
      }
    });
  }
  document.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest("[data-look]"));
    if (!button) return;
    event.preventDefault();
    select(null);
    look(Number(button.dataset.look));
    tab.querySelector(`[data-note="${chosen}"]`)?.scrollIntoView({ block: "nearest" });
  });
  addEventListener("pointerup", () => setTimeout(() => (from = -1)));
  tab.addEventListener("keydown", (event) => {
    const index = noteOf(event.target);
    const step = /** @type {Record<string, number>} */ ({ ArrowRight: 1, ArrowLeft: -1, Home: -notes.length, End: notes.length })[event.key];
    if (index < 0 || step === undefined) return;
    event.preventDefault();
    const next = Math.min(Math.max(index + step, 0), notes.length - 1);
    if (event.shiftKey) select([range ? (range[0] === index && range[0] !== range[1] ? range[1] : range[0]) : index, next]);
    current = next;
    light();
    /** @type {HTMLElement | null} */ (tab.querySelector(`[data-note="${next}"]`))?.focus();
  });
  addEventListener("keydown", (event) => {
    if (event.key === "Escape" && range) select(null);
  });
  light();
}
