// @ts-check
// The screen on which a lesson or a phrase is played along with: the strip runs, what is heard is drawn over it, and at the
// end the take is answered.

import { ask, upload } from "../asking.js";
import { say, tell } from "../words.js";
import { makeCloseup } from "./closeup.js";
import { byId, dataIn, jobEnded, middleOf, openHearing, showProblem, signedCents } from "./hearing.js";
import { loadMusic } from "./music.js";
import { Take } from "./recording.js";
import { makeStrip } from "./strip.js";

/** @typedef {import("./line.js").Answer} Answer */
/** @typedef {import("./strip.js").Event} Event */
/** @typedef {{live: string, sound: string, answer: string, name: string, seconds: number, rounds: number[], counts: [number, number][], ends_seconds: number, tolerance: number, events: Event[], picture: import("./strip.js").Picture}} Rehearsal */

/** @type {Rehearsal} */
const rehearsal = dataIn("rehearsal");
// beat 0 lies so far away while nothing is played along
const NOT_PLAYING = -100_000;
// seconds before a round's beat 0 from which the strip shows that round; after the last note that still belong to the take
const AHEAD_SECONDS = 0.6;
const TAIL_SECONDS = 0.8;
// marks whose middle is shown in figures (0.1 s), and milliseconds between two showings
const SHOWN_MARKS = 25;
const SHOWN_EVERY = 100;

const strip = makeStrip(byId("strip"), rehearsal.picture, rehearsal.events);
const closeup = makeCloseup(/** @type {HTMLCanvasElement} */ (byId("closeup")));
const begin = /** @type {HTMLButtonElement} */ (byId("begin"));
const stop = /** @type {HTMLButtonElement} */ (byId("stop"));
/** @type {Awaited<ReturnType<typeof openHearing>> | null} */
let hearing = null;
/** @type {Awaited<ReturnType<typeof loadMusic>> | null} */
let music = null;
/** @type {Take | null} */
let take = null;
let round = 0;
/** @type {[cents: number, sign: string][]} */
let last = [];
let shown = 0;
let seenAt = 0;

/** @param {number} place seconds of the sound */
function roundAt(place) {
  let found = 0;
  rehearsal.rounds.forEach((zero, index) => {
    if (place >= zero - AHEAD_SECONDS) found = index;
  });
  return found;
}

/** @param {import("./microphone.js").Block} block @param {import("./hearing.js").Microphone} microphone */
function secondsOf(block, microphone) {
  if (!music?.isPlaying) return NOT_PLAYING + block.frame / microphone.context.sampleRate;
  const place = music.placeOf(block.frame, microphone.latency);
  return place - rehearsal.rounds[roundAt(place)];
}

/** @param {number} now seconds from beat 0 */
function dueAt(now) {
  return rehearsal.events.findIndex((one) => one.start <= now && now < one.end && one.targets.length > 0);
}

/** @param {number} due */
function aim(due) {
  const event = rehearsal.events[due];
  if (!event) return;
  closeup.aim({
    label: event.tab,
    natural: event.natural_cents,
    natural_label: say("rehearse.natural"),
    tolerance: rehearsal.tolerance,
  });
  byId("asked").textContent = event.tab;
  byId("asked-says").textContent = event.says;
}

/** @param {number} clock milliseconds */
function showFigures(clock) {
  if (clock - shown < SHOWN_EVERY) return;
  shown = clock;
  const isHeard = last.length > 0 && clock - seenAt < 2 * SHOWN_EVERY;
  const cents = isHeard ? middleOf(last.map((one) => one[0])) : null;
  byId("heard").textContent = isHeard ? last[last.length - 1][1] : "–";
  byId("cents").textContent = cents === null ? "" : say("rehearse.cents", { cents: signedCents(cents) });
  byId("cents").dataset.off = cents === null || Math.abs(cents) <= rehearsal.tolerance ? "" : cents > 0 ? "high" : "low";
}

/** @param {Answer[]} answers */
function draw(answers) {
  const place = music?.isPlaying ? music.place() : rehearsal.rounds[0] - AHEAD_SECONDS;
  const nextRound = roundAt(place);
  if (nextRound !== round) {
    round = nextRound;
    strip.clear();
  }
  const now = place - rehearsal.rounds[round];
  const due = music?.isPlaying ? dueAt(now) : -1;
  const clock = Date.now();
  for (const answer of answers) {
    strip.mark(answer.marks);
    for (const mark of answer.marks) {
      if (mark === null) continue;
      last.push([mark[4], mark[6]]);
      seenAt = clock;
      closeup.mark({ seconds: mark[0], cents: mark[4], right: mark[5] });
    }
    if (answer.marks.includes(null)) closeup.mark({ seconds: now, cents: null, right: false });
  }
  last = last.slice(-SHOWN_MARKS);
  if (due >= 0) aim(due);
  strip.draw(now, due);
  closeup.draw(music?.isPlaying ? now : NOT_PLAYING + (hearing?.microphone.context.currentTime ?? 0));
  const counted = music?.isPlaying && place < rehearsal.rounds[0] ? rehearsal.counts.filter(([seconds]) => seconds <= place) : [];
  byId("count").textContent = counted.length ? String(counted[counted.length - 1][1]) : "";
  showFigures(clock);
}

/** @param {boolean} isPlaying */
function show(isPlaying) {
  begin.hidden = isPlaying;
  stop.hidden = !isPlaying;
  document.body.classList.toggle("playing", isPlaying);
}

async function open() {
  byId("state").textContent = say("rehearse.opening");
  hearing = await openHearing({
    live: rehearsal.live,
    secondsOf,
    take: (block) => music?.isPlaying && take?.add(block.block),
    draw,
    lost: () => {
      hearing = null;
      music?.stop();
      music = null;
      show(false);
    },
  });
  music = await loadMusic(hearing.microphone.context, rehearsal.sound);
}

async function play() {
  begin.disabled = true;
  try {
    if (hearing === null) await open();
    if (hearing === null || music === null) return;
    take = new Take(hearing.microphone.context.sampleRate);
    strip.clear();
    closeup.clear();
    round = 0;
    byId("answer").hidden = true;
    byId("state").textContent = say("rehearse.playing");
    music.start(() => setTimeout(finish, 1000 * TAIL_SECONDS));
    show(true);
    stop.focus();
  } catch (error) {
    byId("state").textContent = "";
    showProblem(error);
  } finally {
    begin.disabled = false;
  }
}

async function finish() {
  const recorded = take;
  take = null;
  music?.stop();
  show(false);
  begin.focus();
  if (recorded === null || recorded.seconds < 1) return;
  try {
    byId("state").textContent = say("rehearse.answering");
    const sent = await upload(recorded.file(), `${rehearsal.name}.wav`);
    const begun = await ask(rehearsal.answer, { upload: sent.upload });
    await jobEnded(begun.job);
    await showAnswer(begun.link);
    byId("state").textContent = "";
  } catch (error) {
    byId("state").textContent = "";
    showProblem(error);
  }
}

/** @param {string} link */
async function showAnswer(link) {
  const answer = await ask(link);
  const place = byId("answer");
  byId("answer-right").textContent = answer.right_says;
  const lines = byId("answer-lines");
  lines.replaceChildren(
    ...answer.lines.map((/** @type {string} */ line) => Object.assign(document.createElement("p"), { textContent: line })),
  );
  const picture = /** @type {HTMLImageElement} */ (byId("answer-picture"));
  picture.src = answer.picture;
  /** @type {HTMLAnchorElement} */ (byId("answer-link")).href = link;
  place.hidden = false;
  place.dataset.right = String(answer.right);
  place.dataset.notes = String(answer.notes);
  tell(answer.right_says);
  place.scrollIntoView({ block: "nearest" });
}

begin.addEventListener("click", play);
begin.disabled = false; // from here on a click is heard
stop.addEventListener("click", finish);
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !stop.hidden) finish();
});
requestAnimationFrame(() => draw([]));
