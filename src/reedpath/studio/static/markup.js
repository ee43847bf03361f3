// @ts-check
// Markup that the studio itself has written, put into the page: as a document is read, so that no script in it would run.

/** @param {string} markup */
export const readMarkup = (markup) => new DOMParser().parseFromString(markup, "text/html").body;

/**
 * @param {Element} place
 * @param {string} markup
 */
export function putMarkup(place, markup) {
  place.replaceChildren(...readMarkup(markup).childNodes);
}
