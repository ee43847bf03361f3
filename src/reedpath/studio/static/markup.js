// @ts-check
// Markup that the studio itself has written, put into the page: as a document is read, so that no script in it would run.

/**
 * @param {Element} place
 * @param {string} markup
 */
export function putMarkup(place, markup) {
  const read = new DOMParser().parseFromString(markup, "text/html");
  place.replaceChildren(...read.body.childNodes);
}
