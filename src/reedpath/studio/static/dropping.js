// @ts-check
// Files that are dropped on a place of a page, or chosen in its field.

/**
 * @param {HTMLElement} place
 * @param {HTMLInputElement} field
 * @param {(files: File[]) => void} brought
 */
export function takeFiles(place, field, brought) {
  for (const name of ["dragenter", "dragover"]) {
    place.addEventListener(name, (event) => {
      event.preventDefault();
      place.classList.add("over");
    });
  }
  for (const name of ["dragleave", "drop"]) place.addEventListener(name, () => place.classList.remove("over"));
  place.addEventListener("drop", (event) => {
    event.preventDefault();
    const files = [...(event.dataTransfer?.files ?? [])];
    if (files.length) brought(files);
  });
  field.addEventListener("change", () => {
    const files = [...(field.files ?? [])];
    field.value = ""; // the same file may be chosen again
    if (files.length) brought(files);
  });
}
