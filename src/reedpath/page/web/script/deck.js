// The deck: plays one of the sounds, from here to there, once or again and again, with or without its count-in.

import { fileOf } from "./files.js";
import { along, lastUntil, reachedFrom } from "./times.js";
import { makeClock } from "./clock.js";

// seconds by which a jump may be left out, the sound being there anyway, and by which a jump may land early
const NEAR = 0.1;

export function makeDeck(audio, sounds, addresses, changed) {
  const files = [];
  const clock = makeClock(audio);
  const last = sounds[0].starts.length - 1;
  const state = {
    sound: 0, // which tempo
    event: 0, // where the student is
    stretch: { first: 0, last }, // what is played
    passing: null, // a stretch that is played once, in its place
    again: false,
    countsIn: true,
    turns: "together", // who plays: the harmonica every time, every second time ("call"), or never ("yours")
    round: 0, // times that the stretch has been played through
    counting: null, // seconds to jump to when the count-in is over
    playing: false,
    over: false, // whether it stopped because everything had been played
    rate: 1,
  };
  let wanted = null; // seconds to seek to as soon as the sound is known
  let aim = 0; // the event that was jumped to last

  const times = () => sounds[state.sound];
  const stretch = () => state.passing ?? state.stretch;

  function seek(seconds) {
    if (audio.readyState >= 1) audio.currentTime = seconds;
    else wanted = seconds;
  }

  function load(index) {
    state.sound = index;
    files[index] ??= fileOf(addresses[index]);
    audio.src = files[index];
    audio.load();
  }

  function runAtRate() {
    audio.preservesPitch = true;
    audio.webkitPreservesPitch = true;
    audio.defaultPlaybackRate = state.rate;
    audio.playbackRate = state.rate;
  }

  audio.addEventListener("loadedmetadata", () => {
    runAtRate();
    if (wanted !== null) audio.currentTime = wanted;
    wanted = null;
  });

  /** Seconds of the sound, or those it is about to have. */
  const now = () => wanted ?? clock.now();

  /** Go to where the sound of an event begins: a little before it, where the one before still sounds. */
  function seekTo(event) {
    aim = event;
    seek(times().from[event]);
  }

  const reachedAt = (t) => reachedFrom(times().starts, t, aim, times().from[aim] - NEAR);

  /** Begin at an event, the count-in first where it is wanted. */
  function begin(event) {
    aim = event;
    const target = times().from[event];
    const counts = state.countsIn && !state.passing && times().counts.length > 0;
    state.counting = counts ? target : null;
    seek(counts ? 0 : target);
  }

  function goOnFrom(event) {
    state.event = event;
    if (state.playing) begin(event);
    else seekTo(event);
  }

  /** Whether the student plays alone just now; the count-in is heard all the same. */
  function isYours() {
    const { turns, round, passing, playing, counting } = state;
    if (!playing || passing || counting !== null || now() < times().counted) return false;
    return turns === "yours" || (turns === "call" && round % 2 === 1);
  }

  const isInside = (event) => event >= stretch().first && event <= stretch().last;

  function stop(event) {
    state.playing = false;
    state.counting = null;
    state.passing = null;
    audio.muted = false;
    audio.pause();
    state.event = event;
    seekTo(event);
    changed("stopped");
  }

  async function run() {
    state.playing = true;
    state.over = false;
    runAtRate();
    changed("playing");
    try {
      await audio.play();
    } catch (error) {
      if (error.name === "AbortError") return; // another sound was chosen meanwhile
      state.playing = false;
      changed("failed");
    }
  }

  /** Play from where it was just put. */
  const goOn = () => (state.playing ? changed("moved") : run());

  function play() {
    if (!isInside(state.event)) state.event = stretch().first;
    state.round = 0;
    begin(state.event);
    run();
  }

  const deck = {
    state,
    now,
    isYours,

    /** The event that sounds, or -1. */
    sounding() {
      const t = now();
      const index = reachedAt(t);
      return index >= 0 && t >= times().starts[index] && t < times().dark[index] ? index : -1;
    },

    /** How far along the ribbon the sound is, in rows. */
    place() {
      return along(times().course, state.counting === null ? now() : state.counting);
    },

    /** The number that is counted just now, or null. */
    count() {
      if (!state.playing || now() >= times().counted) return null;
      if (state.counting === null && state.event > 0) return null;
      const index = lastUntil(times().counts.map((one) => one[0]), now());
      return index < 0 ? null : times().counts[index][1];
    },

    toggle() {
      if (state.playing) stop(state.event);
      else play();
    },

    pause() {
      if (state.playing) stop(state.event);
    },

    /** Go to an event; what is playing goes on from there. */
    go(event) {
      const inside = Math.min(Math.max(event, 0), last);
      state.passing = null;
      if (!isInside(inside)) deck.choose(0, last);
      state.event = inside;
      state.counting = null;
      seekTo(inside);
      changed("moved");
    },

    /** Go to the event under a place of the ribbon, in rows, without moving the ribbon. */
    goToPlace(rows) {
      const event = Math.max(0, lastUntil(times().starts, along(times().course, rows, 1, 0) + 0.001));
      if (event === state.event) return;
      state.event = event;
      seekTo(event);
      changed("dragged");
    },

    restart() {
      state.passing = null;
      goOnFrom(stretch().first);
      changed("moved");
    },

    /** Choose what is played. */
    choose(first, until) {
      state.passing = null;
      state.stretch = { first: Math.min(first, until), last: Math.max(first, until) };
      if (!isInside(state.event)) goOnFrom(state.stretch.first);
      changed("chosen");
    },

    /** Play a stretch again and again, from its beginning. */
    practise(first, until) {
      state.again = true;
      state.event = first;
      deck.choose(first, until);
      state.round = 0;
      begin(state.event);
      goOn();
    },

    /** Choose who plays; taking turns needs a stretch that comes round. */
    share(turns) {
      state.turns = turns;
      state.round = 0;
      if (turns === "call") state.again = true;
      changed("turns");
    },

    /** Play some events once, whatever is chosen. */
    hear(first, until) {
      state.passing = { first, last: until };
      state.event = first;
      begin(first);
      goOn();
    },

    /** Take another tempo, at the same place. */
    take(index) {
      if (index === state.sound || !sounds[index]) return;
      const { playing, counting } = state;
      const target = times().from.indexOf(counting);
      const rows = along(times().course, now());
      if (playing) audio.pause();
      load(index);
      if (counting !== null) begin(target);
      else seek(playing ? along(times().course, rows, 1, 0) : times().from[state.event]);
      changed("taken");
      if (playing) run();
    },

    /** Play everything once, from the beginning, at a tempo and a share of it. */
    playThrough(index, rate) {
      state.again = false;
      state.turns = "together";
      deck.take(index);
      deck.slow(rate);
      deck.choose(0, last);
      state.event = 0;
      begin(0);
      goOn();
    },

    slow(rate) {
      state.rate = rate;
      runAtRate();
      changed("slowed");
    },

    set(name, value) {
      state[name] = value;
      changed(name);
    },

    /** To be called as often as the screen is drawn, and now and then when it is not. */
    tick() {
      if (!state.playing || audio.seeking || wanted !== null) return;
      audio.muted = isYours();
      const t = clock.now();
      if (state.counting !== null) {
        if (t < times().counted) return;
        const target = state.counting;
        state.counting = null;
        if (Math.abs(target - t) > NEAR) return seek(target);
      }
      const reached = reachedAt(t);
      if (reached >= 0 && reached <= stretch().last) state.event = Math.max(reached, stretch().first);
      if (t < times().until[stretch().last] && !audio.ended) return;
      if (state.again && !state.passing) {
        state.event = state.stretch.first;
        state.round += 1;
        begin(state.event);
        audio.muted = isYours();
        if (audio.ended) run();
      } else {
        state.over = !state.passing;
        stop(state.passing ? state.passing.first : state.stretch.first);
      }
    },
  };

  for (const name of ["timeupdate", "ended"]) audio.addEventListener(name, deck.tick);
  // played and paused from outside: a headphone's button, a telephone call
  audio.addEventListener("play", () => {
    if (state.playing) return;
    state.playing = true;
    changed("playing");
  });
  audio.addEventListener("pause", () => {
    if (state.playing && audio.paused && !audio.ended) stop(state.event);
  });
  load(0);
  seek(times().from[0]);
  return deck;
}
