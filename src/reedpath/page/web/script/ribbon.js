// The ribbon and the harp: runs the strip under its line, lights what sounds, shows the move in large and the next.

import { makeFollower } from "./follow.js";

// part of the strip's width that the sound may reach before a strip that may not run jumps on
const PAGE_END = 0.85;
// rows that a lit note's halo stands off
const HALO = 0.15;
// milliseconds after which a strip that was dragged has come to rest
const AT_REST = 180;

/** scope: the part of the document that is the lesson's. prefix: of its names there. */
export function makeRibbon(page, words, deck, wake, { scope, prefix }) {
  const strip = scope.querySelector(".strip");
  const run = strip.querySelector(".run");
  const svg = run.querySelector("svg");
  const line = scope.querySelector(".line");
  const range = strip.querySelector(".range");
  const current = scope.querySelector(".current");
  const turns = [...scope.querySelectorAll(".turn")];
  // the large sign, and the small one that is seen where the large one is not
  const faces = [
    [".current svg", ".count", ".said", ".coming svg"],
    [".brief-sign svg", ".brief-count", ".brief-said", ".brief-next svg"],
  ].map(([sign, count, said, coming]) => ({
    sign: scope.querySelector(sign),
    count: scope.querySelector(count),
    said: scope.querySelector(said),
    coming: [...scope.querySelectorAll(coming)],
  }));
  const views = [...scope.querySelectorAll(`symbol[id^=${prefix}sign-]`)].map((one) => one.getAttribute("viewBox"));
  const lit = [...scope.querySelectorAll(".lit")];
  const steps = [...scope.querySelectorAll(".step:not(.around)")];
  const events = page.signs.map((_, index) => [...scope.querySelectorAll(`.event[data-event="${index}"]`)]);
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const follower = makeFollower(scope, still);
  let row = 1; // pixels of a row
  let shown = {}; // what is on the screen, so that only what changes is drawn
  let dragging = false;
  let rest = 0;

  function measure() {
    row = svg.getBoundingClientRect().width / (svg.viewBox.baseVal.width / page.row_px) || 1;
    const { first, last } = deck.state.stretch;
    range.style.left = `${(page.lead + page.places[first] - HALO) * row}px`;
    range.style.width = `${(page.ends[last] - page.places[first] + 2 * HALO) * row}px`;
    range.hidden = first === 0 && last === page.places.length - 1;
  }

  function picture(one, index) {
    if (index === undefined) {
      one.setAttribute("hidden", "");
      return;
    }
    one.removeAttribute("hidden");
    one.setAttribute("viewBox", views[index]);
    one.firstElementChild.setAttribute("href", `#${prefix}sign-${index}`);
  }

  function halos(index, isLit) {
    for (const one of events[index] ?? []) {
      const halo = one.querySelector(".halos");
      if (halo) halo.style.display = isLit ? "inline" : "";
      one.classList.toggle("sounding", isLit);
    }
  }

  function light(index) {
    if (shown.lit === index) return;
    halos(shown.lit, false);
    halos(index, true);
    shown.lit = index;
    const move = index < 0 ? "" : String(page.signs[index]);
    for (const one of lit) one.style.display = one.dataset.sign === move ? "inline" : "";
    for (const one of steps) one.classList.toggle("sounding", index >= 0 && tells(one, index));
    follower.follow(steps.filter((one) => one.classList.contains("sounding")));
  }

  /** Whether a step tells how an event is played. */
  function tells(step, index) {
    return Number(step.dataset.first) <= index && index <= Number(step.dataset.last);
  }

  /** The event that is played in an event's place: a stretch that is played again goes on with its beginning. */
  function following(event) {
    const { stretch, again } = deck.state;
    const over = event - stretch.last - 1;
    return again && over >= 0 ? stretch.first + (over % (stretch.last - stretch.first + 1)) : event;
  }

  function tell(event, number, isOver) {
    const { first, last } = deck.state.stretch;
    const key = [event, number, first, last, deck.state.again, words.language].join();
    current.classList.toggle("over", isOver);
    if (shown.told === key) return;
    shown.told = key;
    const from = number === null ? event + 1 : event;
    for (const face of faces) {
      face.count.textContent = number ?? "";
      picture(face.sign, number === null ? page.signs[event] : undefined);
      face.said.textContent = words.say(`signs.${page.signs[event]}`);
      face.coming.forEach((one, index) => picture(one, page.signs[following(from + index)]));
    }
  }

  function runTo(rows) {
    const x = rows * row;
    const ahead = strip.clientWidth * PAGE_END - line.offsetLeft;
    const isSeen = x >= strip.scrollLeft && x <= strip.scrollLeft + ahead;
    if (!still.matches || !isSeen) strip.scrollLeft = x;
    // what is left of a pixel, which scrolling rounds away
    const left = strip.scrollLeft - x;
    run.style.transform = !still.matches && Math.abs(left) < 1 ? `translateX(${left.toFixed(2)}px)` : "";
  }

  function value() {
    if (deck.state.playing) return; // nothing is read out over the music
    strip.setAttribute("aria-valuenow", deck.state.event + 1);
    strip.setAttribute("aria-valuetext", words.say(`events.${deck.state.event}`));
  }

  strip.addEventListener("click", (click) => {
    const event = click.target.closest(".event");
    if (event) deck.go(Number(event.dataset.event));
  });
  for (const name of ["pointerdown", "wheel", "touchmove"]) {
    strip.addEventListener(name, () => (dragging = !deck.state.playing), { passive: true });
  }
  strip.addEventListener("scroll", () => {
    if (!dragging || deck.state.playing) return;
    clearTimeout(rest);
    rest = setTimeout(() => (dragging = false), AT_REST);
    deck.goToPlace(strip.scrollLeft / row + 0.01);
  });
  new ResizeObserver(() => {
    measure();
    shown.place = undefined;
    wake();
  }).observe(svg);

  return {
    strip,
    measure,
    value,

    /** Bring the step of an event into view that stands in a block of the page. */
    goTo(event, block) {
      follower.goTo(steps.find((one) => block.contains(one) && tells(one, event)));
    },

    /** Show where the deck is. */
    draw() {
      const { state } = deck;
      const number = deck.count();
      const sounding = state.playing ? (number === null && state.counting === null ? deck.sounding() : -1) : state.event;
      light(sounding);
      tell(state.event, number, state.playing && number === null && sounding < 0);
      const place = state.playing ? deck.place() : page.places[state.event];
      if (place !== shown.place && !dragging) {
        shown.place = place;
        runTo(place);
      }
      strip.classList.toggle("running", state.playing);
      for (const one of turns) one.hidden = !deck.isYours();
      follower.show(state.playing);
    },
  };
}
