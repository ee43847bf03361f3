// Several pieces on one page: one is seen at a time, the list at the top goes to each, its levels can be changed.

/** pieces: for each its name in the document and its lessons. open: called with the lesson that is to be seen. */
export function makePieces(pieces, open) {
  const sections = pieces.map((one) => document.getElementById(one.name));
  const links = [...document.querySelectorAll("a[href^='#piece-']")];
  const skip = document.querySelector(".skip");
  const chosen = pieces.map(() => 0);
  let seen = -1;

  function showLesson(index) {
    const { lessons } = pieces[index];
    lessons.forEach((lesson, place) => {
      document.getElementById(`p${lesson + 1}-lesson`).hidden = place !== chosen[index];
    });
    if (!lessons.length) return;
    const lesson = lessons[chosen[index]];
    open(lesson);
    const player = document.getElementById(`p${lesson + 1}-player`);
    skip.href = `#${player ? player.id : pieces[index].name}`;
  }

  function show(index) {
    if (index === seen) return;
    seen = index;
    sections.forEach((one, place) => (one.hidden = place !== index));
    for (const link of links) {
      if (link.hash === `#${pieces[index].name}`) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    showLesson(index);
  }

  const named = (hash) => pieces.findIndex((one) => `#${one.name}` === hash);

  /** Go where the address says. */
  function follow() {
    const index = named(location.hash);
    if (index >= 0) show(index);
  }

  for (const link of links) link.addEventListener("click", () => show(named(link.hash)));
  addEventListener("hashchange", follow);
  pieces.forEach((one, index) => {
    one.lessons.forEach((_, place) => {
      document.getElementById(`${one.name}-version-${place}`)?.addEventListener("change", () => {
        chosen[index] = place;
        showLesson(index);
      });
    });
  });
  show(Math.max(0, named(location.hash)));
}
