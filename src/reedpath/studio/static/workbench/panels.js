// @ts-check
// A panel put in the place of the one before: what was being written in it, what was open and what had the focus stay.

import { putMarkup, readMarkup } from "../markup.js";

/** @type {Map<string, string>} */
const last = new Map();
/** @type {(() => void)[]} */
const focusing = [];

/** Give what had the focus its focus back: once, when all panels are in place, since the page is laid out for it. */
export function focusAgain() {
  for (const focus of focusing.splice(0)) focus();
}

/**
 * @param {Element} panel
 * @param {string} key
 */
const keyed = (panel, key) => /** @type {HTMLInputElement | null} */ (panel.querySelector(`[data-key="${CSS.escape(key)}"]`));

/**
 * @param {string} name
 * @param {string} html
 */
export function put(name, html) {
  const panel = document.querySelector(`[data-panel="${name}"]`);
  if (!panel || last.get(name) === html) return;
  last.set(name, html);
  const focused = /** @type {HTMLElement | null} */ (document.activeElement);
  const inside = focused && panel.contains(focused) ? focused : null;
  const key = inside?.dataset.key;
  const note = inside?.dataset.note;
  const written = [...panel.querySelectorAll("input[data-key]")].map((one) => {
    const field = /** @type {HTMLInputElement} */ (one);
    const isWritten = ["checkbox", "radio"].includes(field.type) ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
    return { key: field.dataset.key || "", value: field.value, checked: field.checked, max: field.max, isWritten };
  });
  const open = [...panel.querySelectorAll("details")].map((one) => one.open);
  putMarkup(panel, html);
  if (inside?.isConnected) return;
  for (const one of written) {
    const field = one.isWritten ? keyed(panel, one.key) : null;
    if (!field || field.max !== one.max) continue;
    field.value = one.value;
    field.checked = one.checked;
  }
  panel.querySelectorAll("details").forEach((one, index) => {
    one.open = open[index] ?? one.open;
  });
  const again = key !== undefined ? keyed(panel, key) : note !== undefined ? panel.querySelector(`[data-note="${note}"]`) : null;
  const next = again || (inside && panel.querySelector("button, input, summary"));
  if (next) focusing.push(() => /** @type {HTMLElement} */ (next).focus({ preventScroll: true }));
}

/**
 * Put rows of a panel that is a list in the places of those before.
 * @param {string} name
 * @param {[number, string][]} rows
 */
export function putRows(name, rows) {
  const there = document.querySelector(`[data-panel="${name}"] [data-rows]`)?.children;
  if (!there || !rows.length) return;
  last.delete(name);
  const focused = /** @type {HTMLElement | null} */ (document.activeElement);
  // read together: a document for each row would take longer
  const come = [...readMarkup(`<ol>${rows.map(([, html]) => html).join("")}</ol>`).children[0].children];
  rows.forEach(([index], at) => {
    const row = there[index];
    const note = focused && row.contains(focused) ? focused.dataset.note : undefined;
    row.replaceWith(come[at]);
    const next = note === undefined ? null : come[at].querySelector(`[data-note="${note}"]`);
    if (next) focusing.push(() => /** @type {HTMLElement} */ (next).focus({ preventScroll: true }));
  });
}
