// @ts-check
// A panel put in the place of the one before: what was being written in it, what was open and what had the focus stay.

import { putMarkup } from "../markup.js";

/** @type {Map<string, string>} */
const last = new Map();

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
    const isWritten = field.type === "checkbox" ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
    return { key: field.dataset.key || "", value: field.value, checked: field.checked, max: field.max, isWritten };
  });
  const open = [...panel.querySelectorAll("details")].map((one) => one.open);
  putMarkup(panel, html);
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
  if (again) /** @type {HTMLElement} */ (again).focus({ preventScroll: true });
  else if (inside) /** @type {HTMLElement} */ (panel.querySelector("button, input, summary"))?.focus({ preventScroll: true });
}
