// @ts-check
// A take's sound, heard at the places that its answer tells of.

const sound = /** @type {HTMLAudioElement | null} */ (document.getElementById("take"));
// second at which a place ends; the sound goes on to its end where it was begun by hand
let until = Infinity;

/** @param {HTMLAudioElement} audio @param {number} first @param {number} last */
function hear(audio, first, last) {
  const begin = () => {
    audio.currentTime = first;
    until = last;
    void audio.play();
  };
  if (audio.readyState >= HTMLMediaElement.HAVE_METADATA) {
    begin();
    return;
  }
  audio.addEventListener("loadedmetadata", begin, { once: true });
  audio.load();
}

if (sound) {
  sound.addEventListener("timeupdate", () => {
    if (sound.currentTime < until) return;
    until = Infinity;
    sound.pause();
  });
  for (const button of document.querySelectorAll("button[data-from]")) {
    const { from, until: last } = /** @type {HTMLElement} */ (button).dataset;
    button.addEventListener("click", () => hear(sound, Number(from), Number(last)));
  }
}
