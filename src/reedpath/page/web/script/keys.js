// Keys of the keyboard. They can be switched off, since people who speak to their device may strike them unmeant.

/** Whether a key belongs to what has the focus: text, a slider, a choice. */
function isTaken(target, key) {
  if (target.closest("select, textarea, [contenteditable]")) return true;
  if (target.closest("input")) return !/^[a-z0-9]$/i.test(key) || target.type === "text";
  return (key === " " || key === "Enter") && target.closest("button, summary, a") !== null;
}

/** Whether a key moves a slider that has the focus: that always works. */
function isSliding(target, key) {
  return target.getAttribute("role") === "slider" && /^(Arrow|Home$|End$)/.test(key);
}

/** actionsNow: gives what each key does just now. isOn: whether keys work. */
export function bindKeys(actionsNow, isOn) {
  document.addEventListener("keydown", (press) => {
    if (press.ctrlKey || press.metaKey || press.altKey) return;
    const key = press.key.length === 1 ? press.key.toLowerCase() : press.key;
    const slides = isSliding(press.target, key);
    if (!slides && (!isOn() || isTaken(press.target, key))) return;
    // by their place on the keyboard: French ones have digits only with shift
    const digit = /^(?:Digit|Numpad)([1-9])$/.exec(press.code);
    const sideways = slides ? { ArrowUp: "ArrowRight", ArrowDown: "ArrowLeft" }[key] : undefined;
    const actions = actionsNow();
    const action = digit ? actions.number && (() => actions.number(Number(digit[1]))) : actions[sideways ?? key];
    if (!action) return;
    press.preventDefault();
    if (!press.repeat || key.startsWith("Arrow")) action();
  });
}
