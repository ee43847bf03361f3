// @ts-check
// The screen on which one note is held: the pitch from near, the seconds in tune, the longest of this sitting.

import { ask } from "../asking.js";
import { say, tell } from "../words.js";
import { makeCloseup } from "./closeup.js";
import { byId, dataIn, jobEnded, middleOf, openHearing, showProblem, signedCents } from "./hearing.js";

/** @typedef {import("./line.js").Answer} Answer */
/** @typedef {import("./line.js").Held} Held */
/** @typedef {{live: string, label: string, natural: number | null, tolerance: number, tone: string, chosen: Record<string, string>}} Exercise */

/** @type {Exercise} */
const exercise = dataIn("exercise");
// marks whose middle is shown in figures (0.1 s), and milliseconds between two showings
const SHOWN_MARKS = 25;
const SHOWN_EVERY = 100;
// notes of this sitting that are listed
const LISTED = 8;

const closeup = makeCloseup(/** @type {HTMLCanvasElement} */ (byId("closeup")));
const begin = /** @type {HTMLButtonElement} */ (byId("begin"));
const stop = /** @type {HTMLButtonElement} */ (byId("stop"));
const keep = /** @type {HTMLFormElement | null} */ (document.getElementById("keep"));
const seconds = new Intl.NumberFormat(document.documentElement.lang || "en", { minimumFractionDigits: 1, maximumFractionDigits: 1 });
/** @type {Awaited<ReturnType<typeof openHearing>> | null} */
let hearing = null;
/** @type {Held | null} */
let longest = null;
/** @type {[cents: number, sign: string][]} */
let last = [];
let shown = 0;
let seenAt = 0;

closeup.aim({
  label: exercise.label,
  natural: exercise.natural,
  natural_label: say("rehearse.natural"),
  tolerance: exercise.tolerance,
});

/** @param {Held} held */
function list(held) {
  const item = document.createElement("li");
  item.textContent = say("rehearse.held", {
    seconds: seconds.format(held.seconds),
    cents: signedCents(held.cents),
    unsteady: Math.round(held.unsteady_cents),
  });
  byId("sitting").prepend(item);
  while (byId("sitting").children.length > LISTED) byId("sitting").lastElementChild?.remove();
  byId("sitting-head").hidden = false;
}

/** @param {Held} held */
function offer(held) {
  longest = held;
  byId("longest").textContent = say("rehearse.seconds", { seconds: seconds.format(held.seconds) });
  byId("longest").dataset.seconds = String(held.seconds);
  if (keep === null) return;
  for (const name of /** @type {const} */ (["seconds", "cents", "unsteady_cents"])) {
    /** @type {HTMLInputElement} */ (keep.elements.namedItem(name)).value = String(held[name]);
  }
  keep.hidden = false;
}

/** @param {Answer[]} answers */
function draw(answers) {
  const clock = Date.now();
  for (const answer of answers) {
    for (const mark of answer.marks) {
      if (mark === null) continue;
      last.push([mark[4], mark[6]]);
      seenAt = clock;
      closeup.mark({ seconds: mark[0], cents: mark[4], right: mark[5] });
    }
    if (answer.held) list(answer.held);
    if (answer.longest && answer.longest.seconds !== longest?.seconds) offer(answer.longest);
  }
  last = last.slice(-SHOWN_MARKS);
  closeup.draw(hearing?.microphone.context.currentTime ?? 0);
  if (clock - shown < SHOWN_EVERY || answers.length === 0) return;
  shown = clock;
  const holding = answers[answers.length - 1].holding;
  byId("holding").textContent = say("rehearse.seconds", { seconds: seconds.format(holding?.seconds ?? 0) });
  byId("holding").classList.toggle("in-tune", Boolean(holding));
  const isHeard = last.length > 0 && clock - seenAt < 2 * SHOWN_EVERY;
  const cents = isHeard ? middleOf(last.map((one) => one[0])) : null;
  byId("heard").textContent = isHeard ? last[last.length - 1][1] : "–";
  byId("cents").textContent = cents === null ? "" : say("rehearse.cents", { cents: signedCents(cents) });
  byId("cents").dataset.off = cents === null || Math.abs(cents) <= exercise.tolerance ? "" : cents > 0 ? "high" : "low";
}

/** @param {boolean} isOpen */
function show(isOpen) {
  begin.hidden = isOpen;
  stop.hidden = !isOpen;
}

begin.addEventListener("click", async () => {
  begin.disabled = true;
  byId("state").textContent = say("rehearse.opening");
  try {
    hearing = await openHearing({
      live: exercise.live,
      secondsOf: (block, microphone) => block.frame / microphone.context.sampleRate,
      draw,
      lost: () => {
        hearing = null;
        show(false);
      },
    });
    show(true);
    stop.focus();
    byId("state").textContent = say("rehearse.listening");
  } catch (error) {
    byId("state").textContent = "";
    showProblem(error);
  } finally {
    begin.disabled = false;
  }
});
begin.disabled = false; // from here on a click is heard

stop.addEventListener("click", async () => {
  await hearing?.close();
  hearing = null;
  show(false);
  begin.focus();
  byId("state").textContent = "";
  if (longest) tell(say("rehearse.held", { seconds: seconds.format(longest.seconds), cents: signedCents(longest.cents), unsteady: Math.round(longest.unsteady_cents) }));
});

// kept without leaving the page, so that the microphone stays open
keep?.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const fields = /** @type {Record<string, string>} */ (Object.fromEntries(new FormData(keep).entries()));
    const kept = await ask(keep.action, fields);
    byId("state").textContent = kept.told;
    keep.hidden = true;
  } catch (error) {
    showProblem(error);
  }
});

/** @type {HTMLAudioElement | null} */
let tone = null;
byId("hear").addEventListener("click", async () => {
  try {
    if (tone === null) {
      const begun = await ask(exercise.tone, exercise.chosen);
      await jobEnded(begun.job);
      tone = new Audio(begun.link);
    }
    tone.currentTime = 0;
    await tone.play();
  } catch (error) {
    showProblem(error);
  }
});
requestAnimationFrame(() => closeup.draw(0));
