// A clock that runs evenly with a sound. Some browsers tell a sound's time only a few times a second, and not evenly.

// seconds for which a sound that says no new time is believed to go on, and by which it may seem to go back
const BELIEVED = 0.35;
const BACK = 0.1;

export function makeClock(audio) {
  let told = 0;
  let toldAt = 0;
  let given = 0;
  let moves = false; // whether the sound has truly begun to move

  return {
    /** Seconds of the sound, now. */
    now() {
      const time = audio.currentTime;
      const at = performance.now() / 1000;
      if (audio.paused || audio.seeking) {
        moves = false;
        told = given = time;
        return time;
      }
      if (time !== told) {
        moves = true;
        told = time;
        toldAt = at;
      }
      const guess = moves ? told + Math.min(at - toldAt, BELIEVED) * audio.playbackRate : told;
      if (guess > given || given - guess > BACK) given = guess;
      return given;
    },
  };
}
