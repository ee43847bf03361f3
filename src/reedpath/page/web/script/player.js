// The player of one lesson: binds its deck, its ribbon and everything in it that can be tapped.

import { makeDeck } from "./deck.js";
import { makeRibbon } from "./ribbon.js";
import { makeTake } from "./take.js";

/** The player of a lesson.
 *  scope: the part of the document that is the lesson's, or the document. prefix: of its names there.
 *  announce: says something to those who do not see it happen. begun: called when it begins to sound. */
export function startPlayer(page, words, { scope, prefix, announce, begun, nextSize }) {
  const byId = (id) => document.getElementById(prefix + id);
  const plain = scope.querySelector(".plain");
  const addresses = [...plain.querySelectorAll("audio")].map((one) => one.getAttribute("src"));
  plain.remove();
  const deck = makeDeck(byId("sound"), page.sounds, addresses, show);
  const ribbon = makeRibbon(page, words, deck, wake, { scope, prefix });
  const take = makeTake(page, words, deck, { scope, byId, announce });
  const own = byId(`stretch-${page.stretches.length}`);
  const radios = (name) => [...scope.querySelectorAll(`input[name=${prefix}${name}]`)];

  let waiting = 0;
  let atEnd = null; // what waits for the end of a play-through

  /** Draw again, and go on drawing while something plays. */
  function wake() {
    waiting ||= requestAnimationFrame(() => {
      waiting = 0;
      deck.tick();
      ribbon.draw();
      if (deck.state.playing) wake();
    });
  }

  function placeOf(event) {
    return words.say(`events.${event}`);
  }

  /** The tempo that is heard, and how much of the chosen one it is. */
  function tempoWords() {
    const rate = page.rates.indexOf(deck.state.rate);
    return `${words.say(`rungs.${deck.state.sound}.tempos.${rate}`)} · ${words.say(`percents.${rate}`)}`;
  }

  /** What the controls show of the deck, and what is told of its change. */
  function show(change) {
    const { state } = deck;
    if (change === "playing") begun();
    const name = state.playing ? "pause" : "play";
    byId("play").setAttribute("aria-label", words.say(`say.${name}`));
    byId("play").querySelector("use").setAttribute("href", `#icon-${name}`);
    byId("again").setAttribute("aria-pressed", String(state.again));
    byId("count-in").checked = state.countsIn;
    byId(`turns-${state.turns}`).checked = true;
    showSlowed();
    showStretch();
    ribbon.measure();
    ribbon.value();
    take.show();
    if (change === "stopped" || change === "failed") take.ended();
    wake();
    const told = tellOf(change);
    if (told) announce(told);
    if (atEnd && (change === "stopped" || change === "failed")) {
      const tell = atEnd;
      atEnd = null;
      tell(state.over);
    }
  }

  function tellOf(change) {
    const { state } = deck;
    const telling = {
      playing: () => words.say("say.told_playing"),
      stopped: () => words.say("say.told_paused", { place: placeOf(state.event) }),
      failed: () => words.say("say.told_failed"),
      moved: () => (state.playing || document.activeElement === ribbon.strip ? "" : placeOf(state.event)),
      chosen: () => words.say("say.told_stretch", { what: stretchName() }),
      taken: () => words.say("say.told_tempo", { tempo: words.say(`rungs.${state.sound}.tempos.0`) }),
      slowed: () => words.say("say.told_percent", { percent: tempoWords() }),
      again: () => words.say(state.again ? "say.told_again" : "say.told_once"),
      turns: () => words.say(`say.turns_${state.turns}`),
      countsIn: () => words.say(state.countsIn ? "say.told_count_in" : "say.told_no_count_in"),
    };
    return telling[change]?.();
  }

  function showSlowed() {
    byId("slowed").textContent = tempoWords();
    byId("slower").value = page.slower[page.rates.indexOf(deck.state.rate)];
    byId("slower").setAttribute("aria-valuetext", tempoWords());
    radios("rung")[deck.state.sound].checked = true;
  }

  function chosen() {
    const { first, last } = deck.state.stretch;
    return page.stretches.findIndex((one) => one[0] === first && one[1] === last);
  }

  function ownPlace() {
    const { first, last } = deck.state.stretch;
    const [one, other] = [first, last].map((event) => words.say(`moves.${page.signs[event]}`));
    return words.say("say.own_place", { first: one, last: other });
  }

  function stretchName() {
    const index = chosen();
    return index < 0 ? ownPlace() : words.say(`stretches.${index}.name`);
  }

  function showStretch() {
    const index = chosen();
    own.disabled = index >= 0;
    byId("own-place").textContent = index < 0 ? ownPlace() : "–";
    const button = byId(`stretch-${index < 0 ? page.stretches.length : index}`);
    button.checked = true;
    const folded = byId("part-chosen");
    if (folded) folded.textContent = button.closest(".all-parts") ? stretchName() : "";
  }

  const fromHere = () => deck.choose(deck.state.event, Math.max(deck.state.event, deck.state.stretch.last));
  const toHere = () => deck.choose(Math.min(deck.state.stretch.first, deck.state.event), deck.state.event);
  const flip = (name) => deck.set(name, !deck.state[name]);
  const step = (by) => deck.go(deck.state.event + by);

  function nextTurns() {
    const all = radios("turns");
    deck.share(all[(all.findIndex((one) => one.checked) + 1) % all.length].value);
  }

  function slowBy(by) {
    const index = Math.min(Math.max(page.rates.indexOf(deck.state.rate) + by, 0), page.rates.length - 1);
    deck.slow(page.rates[index]);
  }

  function bind(id, action) {
    byId(id).addEventListener("click", action);
  }
  bind("play", deck.toggle);
  bind("restart", deck.restart);
  bind("previous", () => step(-1));
  bind("next", () => step(1));
  bind("again", () => flip("again"));
  bind("from-here", fromHere);
  bind("to-here", toHere);
  byId("count-in").addEventListener("change", (one) => deck.set("countsIn", one.target.checked));
  byId("slower").addEventListener("input", (one) => deck.slow(page.rates[page.slower.indexOf(Number(one.target.value))]));
  for (const one of radios("turns")) one.addEventListener("change", () => deck.share(one.value));
  radios("rung").forEach((one, index) => one.addEventListener("change", () => deck.take(index)));
  page.stretches.forEach(([first, last], index) => {
    byId(`stretch-${index}`).addEventListener("change", () => deck.choose(first, last));
  });
  scope.addEventListener("click", (click) => {
    const tapped = click.target.closest(".step, .practise, .systems .event");
    if (!tapped) return;
    const { first, last, event } = tapped.dataset;
    if (tapped.matches(".step")) deck.hear(Number(first), Number(last));
    else if (tapped.matches(".practise")) deck.practise(Number(first), Number(last));
    else deck.go(Number(event));
    if (tapped.matches(".practise")) ribbon.goTo(Number(first), tapped.closest(".block"));
  });
  const actions = {
    " ": deck.toggle,
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
    Home: deck.restart,
    End: () => deck.go(page.signs.length - 1),
    "-": () => slowBy(1),
    "+": () => slowBy(-1),
    "=": () => slowBy(-1),
    l: () => flip("again"),
    c: () => flip("countsIn"),
    w: nextTurns,
    a: fromHere,
    b: toHere,
    t: nextSize,
    number: (number) => deck.take(number - 1),
  };

  /** Play everything once; true once it is over, false where it was stopped. */
  function playThrough(index, rate) {
    deck.pause();
    deck.playThrough(index, rate);
    return new Promise((resolve) => (atEnd = resolve));
  }

  show("ready");
  return { show, actions, playThrough, pause: deck.pause };
}
