// @ts-check
// The play-along: loaded once, played on the clock that the microphone is heard on too.

/**
 * @param {AudioContext} context
 * @param {string} address
 */
export async function loadMusic(context, address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(answer.statusText);
  const sound = await context.decodeAudioData(await answer.arrayBuffer());
  /** @type {AudioBufferSourceNode | null} */
  let playing = null;
  let began = 0;

  // seconds from the clock to the ear, as far as the browser knows
  const toEar = () => context.outputLatency || context.baseLatency || 0;

  return {
    seconds: sound.duration,

    /**
     * Play from the start; ``over`` is called when it has been played to its end.
     * @param {() => void} over
     */
    start(over) {
      this.stop();
      const source = new AudioBufferSourceNode(context, { buffer: sound });
      source.connect(context.destination);
      began = context.currentTime + 0.05;
      source.start(began);
      source.onended = () => source === playing && over();
      playing = source;
    },

    stop() {
      const source = playing;
      playing = null;
      if (source === null) return;
      source.onended = null;
      source.stop();
      source.disconnect();
    },

    get isPlaying() {
      return playing !== null;
    },

    /** What of it is in the ear now, seconds from its start. */
    place() {
      return context.currentTime - began - toEar();
    },

    /**
     * What of it was in the ear when a sound was made that came to a frame of the clock.
     * @param {number} frame
     * @param {number} latency seconds from the air to the clock
     */
    placeOf(frame, latency) {
      return frame / context.sampleRate - latency - began - toEar();
    },
  };
}
