// What is kept in view: the step that sounds, and a small sign with the next moves where the large one is out of sight.

// part of the free height of the screen at which a step is put that is brought into view
const AT = 0.3;

/** scope: the part of the document that is the lesson's. still: whether nothing is to glide. */
export function makeFollower(scope, still) {
  const now = scope.querySelector(".now");
  const brief = scope.querySelector(".brief");
  const covers = [scope.querySelector(".dock"), brief];
  let isAway = false; // whether the large sign is out of sight
  let isUsed = false; // whether anything has been played
  let isAsked = false; // whether what plays was asked for at the steps
  let marked = null; // the step that was marked before

  new IntersectionObserver((seen) => {
    isAway = !seen[seen.length - 1].isIntersecting;
    show();
  }).observe(now);

  function show() {
    brief.hidden = !(isAway && isUsed);
  }

  /** Pixels from the top down to what covers the lower end of the screen at a place. */
  function freeUntil(x) {
    const boxes = covers.map((one) => one.getBoundingClientRect());
    const over = boxes.filter((box) => box.width && box.top > 0 && box.left <= x && x <= box.right);
    return Math.min(innerHeight, ...over.map((box) => box.top));
  }

  function isSeen(step) {
    const box = step.getBoundingClientRect();
    return box.top >= 0 && box.bottom <= freeUntil(box.left + box.width / 2);
  }

  function bring(step) {
    const box = step.getBoundingClientRect();
    const top = scrollY + box.top - AT * freeUntil(box.left + box.width / 2);
    scrollTo({ top, behavior: still.matches ? "auto" : "smooth" });
  }

  /** Unfold the steps of what comes, where they are folded away. */
  function unfold(steps) {
    const folds = steps.map((one) => one.closest("details")).filter((one) => one && one.parentElement.checkVisibility());
    if (!shown(steps).length && folds.length) folds[0].open = true;
  }

  const shown = (steps) => steps.filter((one) => one.checkVisibility());

  /** Whether the page may be moved: not under somebody who looks at the large sign, but where that stays in its place
   *  and the steps were asked for. */
  const mayMove = () => isAway || (isAsked && getComputedStyle(now.parentElement).position === "sticky");

  return {
    /** Show the small sign from when something plays. */
    show(isPlaying) {
      if (!isPlaying) isAsked = false;
      if (isUsed || !isPlaying) return;
      isUsed = true;
      show();
    },

    /** Steps are marked: go with them, as long as the one before was in view. */
    follow(steps) {
      const wasSeen = marked !== null && marked.checkVisibility() && isSeen(marked);
      if (wasSeen && mayMove()) unfold(steps);
      const seen = shown(steps);
      if (!seen.length) return;
      const from = marked?.getBoundingClientRect().top ?? 0;
      const away = (one) => Math.abs(one.getBoundingClientRect().top - from);
      const next = seen.find(isSeen) ?? seen.reduce((one, other) => (away(other) < away(one) ? other : one));
      if (wasSeen && mayMove() && !isSeen(next)) bring(next);
      marked = next;
    },

    /** Bring a step into view at once. */
    goTo(step) {
      if (!step) return;
      isAsked = true;
      if (!isSeen(step)) bring(step);
      marked = step;
    },
  };
}
