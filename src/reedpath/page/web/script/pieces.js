// Several pieces on one page: one is seen at a time, the list at the top goes to each, its levels can be changed.

/** pieces: for each its name in the document and its lessons. rounds: of the last play-through, what is played in each.
 *  open: called with the lesson that is to be seen. player: gives a lesson's. */
export function makePieces(pieces, rounds, open, player) {
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
  /** Play all pieces in a row, each as it is seen, until one is stopped or left. */
  async function playInARow(round) {
    const place = seen;
    for (const { lesson, sound, rate } of rounds[round]) {
      const index = pieces.findIndex((one) => one.lessons.includes(lesson));
      chosen[index] = pieces[index].lessons.indexOf(lesson);
      const version = document.getElementById(`${pieces[index].name}-version-${chosen[index]}`);
      if (version) version.checked = true;
      if (seen === index) showLesson(index);
      else show(index);
      sections[index].focus();
      if (!(await player(lesson).playThrough(sound, rate))) return;
    }
    show(place);
    sections[place].focus();
  }

  document.addEventListener("click", (click) => {
    const button = click.target.closest("[data-round]");
    if (button) playInARow(Number(button.dataset.round));
  });
  show(Math.max(0, named(location.hash)));
}
