// Settings: light or dark, size of letters, language; kept for the next time where the browser keeps anything.

const KEPT = "reedpath-page";

function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT)) ?? {};
  } catch {
    return {};
  }
}

export function makeSettings(root) {
  const settings = kept();

  function keep(name, value) {
    settings[name] = value;
    try {
      localStorage.setItem(KEPT, JSON.stringify(settings));
    } catch {
      // a browser that keeps nothing: the setting holds as long as the page is open
    }
  }

  function show(group, value) {
    const button = document.getElementById(`${group}-${value}`);
    if (!button) return;
    button.checked = true;
    root.dataset[group] = value;
  }

  for (const group of ["light", "letters"]) {
    for (const button of document.querySelectorAll(`input[name=${group}]`)) {
      button.addEventListener("change", () => {
        root.dataset[group] = button.value;
        keep(group, button.value);
      });
    }
    if (settings[group]) show(group, settings[group]);
  }

  // the panel closes when something else is touched, and by the key for leaving
  const panel = document.querySelector(".display");
  document.addEventListener("pointerdown", (press) => {
    if (!panel.contains(press.target)) panel.open = false;
  });
  panel.addEventListener("keydown", (press) => {
    if (press.key !== "Escape" || !panel.open) return;
    panel.open = false;
    panel.querySelector("summary").focus();
  });

  return {
    settings,
    keep,

    /** The next size of letters, and after the largest the first again. */
    nextSize() {
      const sizes = [...document.querySelectorAll("input[name=letters]")];
      const next = sizes[(sizes.findIndex((one) => one.checked) + 1) % sizes.length];
      show("letters", next.value);
      keep("letters", next.value);
    },
  };
}
