// What the microphone hears, drawn over the ribbon: as a line where the sounds of the harp lie.

import { swingsOf } from "./pitch.js";

const SVG = "http://www.w3.org/2000/svg";
// values of the wave that are looked at, and milliseconds between two looks
const WAVE = 2048;
const APART = 30;
// rows that a line may go on by from one look to the next, and rows up and down
const ON_ROWS = 1.2;
const UP_ROWS = 1.5;

/** scope: the part of the document that is the lesson's. heard: where the sounds lie, as the page tells. */
export function makeHeard(scope, page, deck) {
  const picture = scope.querySelector(".heard");
  const { sounds, signs, lowest, highest, octave, near, right } = page.heard;
  let listening = null;

  /** The sound of some that lies nearest, and how many octaves away. */
  function nearest(some, swings) {
    let best = null;
    for (const [own, y] of some) {
      const away = Math.log2(swings / own);
      if (!best || Math.abs(away) < Math.abs(best.away)) best = { away, y };
    }
    return best;
  }

  /** Where swings lie on the ribbon, and whether they are as asked. */
  function placeOf(swings, event) {
    const asked = nearest(signs[page.signs[event]], swings);
    const found = asked && Math.abs(asked.away) <= near ? asked : nearest(sounds, swings);
    return { y: found.y - octave * found.away, isRight: found === asked && Math.abs(found.away) <= right };
  }

  function newLine(isRight) {
    return ["take_ground", isRight ? "take_heard" : "take_off"].map((role) => {
      const line = document.createElementNS(SVG, "path");
      line.setAttribute("class", role);
      picture.append(line);
      return line;
    });
  }

  /** Go on with the line, or begin another one. */
  function draw(x, { y, isRight }) {
    if (x < listening.x - ON_ROWS) clear(); // it begins anew
    listening.x = x;
    const { last } = listening;
    const goesOn = last && x >= last.x && x - last.x < ON_ROWS && Math.abs(y - last.y) < UP_ROWS;
    const point = `${x.toFixed(2)} ${y.toFixed(2)}`;
    const isSame = goesOn && last.isRight === isRight;
    const lines = isSame ? last.lines : newLine(isRight);
    const data = isSame ? `${last.data}L${point}` : `M${goesOn ? last.point : point}L${point}`;
    for (const line of lines) line.setAttribute("d", data);
    listening.last = { x, y, isRight, lines, data, point };
  }

  function look() {
    const { ear, wave, rate } = listening;
    if (!deck.state.playing || deck.count() !== null || deck.state.counting !== null) {
      listening.last = null;
      return;
    }
    ear.getFloatTimeDomainData(wave);
    const swings = swingsOf(wave, rate, lowest, highest);
    if (swings) draw(page.lead + deck.place(), placeOf(swings, deck.state.event));
    else listening.last = null;
  }

  function clear() {
    picture.replaceChildren();
  }

  return {
    /** Draw what a stream of the microphone brings, until it is stopped. */
    start(stream) {
      clear();
      const context = new AudioContext();
      const ear = context.createAnalyser();
      ear.fftSize = WAVE;
      context.createMediaStreamSource(stream).connect(ear);
      listening = { context, ear, wave: new Float32Array(WAVE), rate: context.sampleRate, x: 0, last: null };
      listening.timer = setInterval(look, APART);
    },

    stop() {
      if (!listening) return;
      clearInterval(listening.timer);
      listening.context.close();
      listening = null;
    },
  };
}
