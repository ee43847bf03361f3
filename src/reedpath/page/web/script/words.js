// Words: what the page says, in the language chosen. All of them come with the page.

/** The words of the page with those of one of its lessons, by language. */
export function mergedWords(common, own) {
  return Object.fromEntries(Object.entries(common).map(([name, words]) => [name, { ...words, ...own[name] }]));
}

/** scope: the part of the document that the words are for; what stands in a lesson in it has words of its own. */
export function makeWords(all, root, scope) {
  let language = root.lang in all ? root.lang : Object.keys(all)[0];
  const lessonOf = (one) => one.closest?.(".lesson") ?? null;
  const own = (selector) => [...scope.querySelectorAll(selector)].filter((one) => lessonOf(one) === lessonOf(scope));

  /** Words by their path, as "say.play" or "rungs.0.name", with values put into their gaps. */
  function say(path, values = {}) {
    let found = all[language];
    for (const key of path.split(".")) found = found[key];
    return found.replace(/\{([a-z_]+)\}/g, (gap, name) => values[name] ?? gap);
  }

  function relabel(one, label) {
    one.setAttribute("aria-label", label);
    const title = one.querySelector("title");
    if (title) title.textContent = label;
  }

  /** The notes of the ribbon, each in words; what goes on from the line above says so. */
  function nameEvents() {
    const goesOn = say("goes_on");
    for (const one of own(".event")) {
      const label = all[language].events[one.dataset.event];
      relabel(one, /event-\d+-\d+$/.test(one.id) ? `${label}, ${goesOn}` : label);
    }
  }

  return {
    say,
    languages: Object.keys(all),
    get language() {
      return language;
    },

    /** Put the page into a language. */
    speak(name) {
      language = name;
      root.lang = name;
      for (const one of own("[data-say]")) one.textContent = say(one.dataset.say);
      for (const one of own("[data-label]")) one.setAttribute("aria-label", say(one.dataset.label));
      for (const one of own(".told")) one.hidden = one.lang !== name;
      for (const one of own(".languages button")) {
        one.setAttribute("aria-pressed", String(one.lang === name));
      }
      nameEvents();
    },
  };
}
