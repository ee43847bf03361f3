// @ts-check
// What a page's scripts say, in the teacher's language: texts with gaps, forms by number where they ask for it.

/** @typedef {string | Record<string, string>} Words */

const element = document.getElementById("words");
/** @type {Record<string, Words>} */
const words = element ? JSON.parse(element.textContent || "{}") : {};
const rules = new Intl.PluralRules(document.documentElement.lang || "en");
const numbers = new Intl.NumberFormat(document.documentElement.lang || "en", { maximumFractionDigits: 1 });

/**
 * The message of a key with its gaps filled; ``count`` chooses the form.
 * @param {string} key
 * @param {Record<string, string | number>} [values]
 * @returns {string}
 */
export function say(key, values = {}) {
  const said = words[key];
  if (said === undefined) throw new Error(`no words for ${key}`);
  let text = said;
  if (typeof text !== "string") {
    const count = Number(values.count);
    text = text[String(count)] ?? text[rules.select(count)] ?? text.other;
  }
  return text.replace(/\{([a-z][a-z_0-9]*)(?::word)?\}/g, (_all, name) => {
    const value = values[name];
    return typeof value === "number" ? numbers.format(value) : String(value ?? "");
  });
}

/**
 * Tell who does not see the page what has just changed on it.
 * @param {string} text
 */
export function tell(text) {
  const told = document.getElementById("told");
  if (told) told.textContent = text;
}
