// A table that is sorted by the heading that is pressed, and shows the rows that hold what is typed.
"use strict";

const words = JSON.parse(document.getElementById("words").textContent);
const table = document.querySelector("table");

/** @param {HTMLTableRowElement} row @param {number} column */
function numberIn(row, column) {
  const said = row.cells[column].dataset.sort;
  return said === undefined ? null : Number(said);
}

if (table) {
  const body = table.tBodies[0];
  const headings = [...table.tHead.rows[0].cells];
  const letters = new Intl.Collator(document.documentElement.lang, { numeric: true });

  /** Rows by a column; those without a word there come last, whichever way. */
  function sort(column, falling) {
    const isNumber = headings[column].hasAttribute("data-numbers");
    const sign = falling ? -1 : 1;
    const rows = [...body.rows].map((row) => ({
      row,
      value: isNumber ? numberIn(row, column) : row.cells[column].textContent,
    }));
    rows.sort((one, other) => {
      const [isNone, isOtherNone] = [one, other].map(({ value }) => value === null || value === "");
      if (isNone || isOtherNone) return Number(isNone) - Number(isOtherNone);
      if (isNumber) return sign * (one.value - other.value);
      return sign * letters.compare(one.value, other.value);
    });
    body.append(...rows.map((one) => one.row));
    for (const heading of headings) heading.removeAttribute("aria-sort");
    headings[column].setAttribute("aria-sort", falling ? "descending" : "ascending");
  }

  headings.forEach((heading, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.title = words.sort;
    button.textContent = heading.textContent;
    button.addEventListener("click", () => sort(column, heading.getAttribute("aria-sort") === "ascending"));
    heading.replaceChildren(button);
  });

  const field = document.getElementById("search");
  if (field) {
    field.parentElement.hidden = false;
    const shown = document.getElementById("shown");
    const all = [...body.rows].map((row) => ({ row, text: row.textContent.toLocaleLowerCase() }));
    field.addEventListener("input", () => {
      const wanted = field.value.trim().toLocaleLowerCase().split(/\s+/);
      let count = 0;
      for (const { row, text } of all) {
        row.hidden = !wanted.every((word) => text.includes(word));
        if (!row.hidden) count += 1;
      }
      shown.textContent = words.shown.replace("{shown}", count).replace("{all}", all.length);
    });
  }
}
