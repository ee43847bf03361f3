// A take: recorded while the page plays along, drawn over the ribbon, saved as a file for the teacher.

import { makeHeard } from "./heard.js";
import { recordSound } from "./recorder.js";
import { wavFile, wholeNumbers } from "./wav.js";

// milliseconds that are recorded after the end, for what rings on; and of a take, at most
const RINGS_ON = 600;
const LONGEST_TAKE = 600000;
// letters of a lesson's name that a file's name takes, and what no file may be called by, which becomes a blank
const LETTERS = 80;
const NOT_IN_NAMES = /[\s\\/:*?"<>|\u0000-\u001f]+/g;

/** The sound as a WAV file of one channel, which everything reads; as it was recorded where it can't be decoded. */
async function fileOfTake({ sound, ending }) {
  const context = new AudioContext();
  try {
    const decoded = await context.decodeAudioData(await sound.arrayBuffer());
    return { file: wavFile([wholeNumbers(decoded.getChannelData(0))], decoded.sampleRate), ending: "wav" };
  } catch {
    return { file: sound, ending };
  } finally {
    context.close();
  }
}

export function makeTake(page, words, deck, { scope, byId, announce }) {
  const [button, link, told] = [byId("record"), byId("save-take"), byId("record-told")];
  const heard = makeHeard(scope, page, deck);
  let recording = null;
  let ending = 0;
  let what = "record_about"; // what is told just now

  function tell(name) {
    what = name;
    told.textContent = words.say(`say.${name}`);
    if (name !== "record_about") announce(told.textContent);
  }

  function show() {
    button.setAttribute("aria-pressed", String(recording !== null));
    button.textContent = words.say(recording ? "say.record_stop" : "say.record");
    told.textContent = words.say(`say.${what}`);
  }

  function nameOf(kind) {
    const title = page.title.replace(NOT_IN_NAMES, " ").slice(0, LETTERS).trim();
    const now = new Date();
    const two = (number) => String(number).padStart(2, "0");
    const day = [now.getFullYear(), two(now.getMonth() + 1), two(now.getDate())].join("-");
    return `${title} - ${words.say("say.record_file")} ${day} ${two(now.getHours())}.${two(now.getMinutes())}.${kind}`;
  }

  async function start() {
    link.hidden = true;
    try {
      recording = await recordSound();
    } catch (error) {
      recording = null;
      tell(["NotAllowedError", "SecurityError"].includes(error.name) ? "record_refused" : "record_unable");
      return show();
    }
    heard.start(recording.stream);
    ending = setTimeout(stop, LONGEST_TAKE);
    tell("record_on");
    show();
    deck.pause();
    deck.restart();
    deck.toggle();
  }

  async function stop() {
    if (!recording) return;
    clearTimeout(ending);
    heard.stop();
    const done = recording;
    recording = null;
    const take = await fileOfTake(await done.stop());
    if (link.href) URL.revokeObjectURL(link.href);
    link.href = URL.createObjectURL(take.file);
    link.download = nameOf(take.ending);
    link.hidden = false;
    tell("record_done");
    show();
  }

  button.addEventListener("click", () => {
    if (!recording) return start();
    if (deck.state.playing) deck.pause();
    else stop();
  });

  return {
    show,

    /** What is played has come to its end, or was stopped. */
    ended() {
      if (!recording) return;
      clearTimeout(ending);
      ending = setTimeout(stop, RINGS_ON);
    },
  };
}
