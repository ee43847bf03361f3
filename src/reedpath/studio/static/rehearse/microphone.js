// @ts-check
// The microphone: opened as it is, without what browsers do to make speech clear, and checked.

import { AS_IT_IS } from "../sound_recorder.js";

/** @typedef {{frame: number, heard: number, block: Float32Array}} Block a stretch of sound: its first frame on the context's clock, when its last was heard (milliseconds), and its values */

// what browsers do to a sound so that speech is understood: it takes held notes for noise, and bends their level
export const CHANGES = /** @type {("echoCancellation" | "noiseSuppression" | "autoGainControl")[]} */ (Object.keys(AS_IT_IS));

/** Why there is no microphone: ``kind`` is the end of a key of the catalogue. */
export class NoMicrophone extends Error {
  /** @param {string} kind */
  constructor(kind) {
    super(kind);
    this.kind = kind;
  }
}

const KINDS = new Map([
  ["NotAllowedError", "refused"],
  ["SecurityError", "refused"],
  ["NotFoundError", "none"],
  ["OverconstrainedError", "none"],
  ["NotReadableError", "busy"],
  ["AbortError", "busy"],
]);

async function stream() {
  // only a page that was opened as 127.0.0.1 or localhost may listen
  if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) throw new NoMicrophone("unable");
  const audio = { channelCount: 1, ...AS_IT_IS };
  try {
    return await navigator.mediaDevices.getUserMedia({ audio });
  } catch (error) {
    throw new NoMicrophone(KINDS.get(error instanceof Error ? error.name : "") ?? "unable");
  }
}

/**
 * Open the microphone; a `NoMicrophone` where that can't be. To be called from a click, so that sound may begin.
 * @param {(block: Block) => void} take
 * @param {() => void} lost the microphone was pulled out, or taken away
 */
export async function openMicrophone(take, lost) {
  const context = new AudioContext({ latencyHint: "interactive" });
  try {
    const [opened] = await Promise.all([stream(), context.audioWorklet.addModule("/static/rehearse/capture.js")]);
    const track = opened.getAudioTracks()[0];
    if (!track) throw new NoMicrophone("none");
    await context.resume();
    const source = context.createMediaStreamSource(opened);
    const cutter = new AudioWorkletNode(context, "block-cutter", {
      numberOfInputs: 1,
      numberOfOutputs: 1,
      channelCount: 1,
      channelCountMode: "explicit",
    });
    cutter.port.onmessage = (message) => take(message.data);
    source.connect(cutter).connect(context.destination); // it puts out silence, and is only run when connected
    track.addEventListener("ended", lost);
    const settings = /** @type {Record<string, unknown>} */ (track.getSettings());
    return {
      context,
      name: track.label,
      // what the browser does to the sound all the same
      changed: CHANGES.filter((name) => settings[name] === true),
      // seconds from the air to the context's clock, as far as the browser knows
      latency: typeof settings.latency === "number" ? settings.latency : 0,
      close() {
        track.removeEventListener("ended", lost);
        for (const one of opened.getTracks()) one.stop();
        cutter.port.onmessage = null;
        return context.close();
      },
    };
  } catch (error) {
    await context.close();
    throw error;
  }
}
