// A clock that runs evenly with a sound. Some browsers tell a sound's time only a few times a second.

// seconds for which a sound that says no new time is believed to go on
const BELIEVED = 0.35;

export function makeClock(audio) {
  let told = 0;
  let toldAt = 0;

  return {
    /** Seconds of the sound, now. */
    now() {
      const time = audio.currentTime;
      const at = performance.now() / 1000;
      if (audio.paused || audio.seeking || time !== told) {
        told = time;
        toldAt = at;
        return time;
      }
      return time + Math.min(at - toldAt, BELIEVED) * audio.playbackRate;
    },
  };
}
