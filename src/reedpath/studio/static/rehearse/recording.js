// @ts-check
// The take: all that the microphone heard while something was played along, as a file.

import { wavFile, wholeNumbers } from "../page/wav.js";

// seconds of a take; at 48,000 values a second it takes 58 MB of memory
export const MOST_SECONDS = 600;

export class Take {
  /** @param {number} rate values a second */
  constructor(rate) {
    this.rate = rate;
    /** @type {Int16Array[]} */
    this.pieces = [];
    this.frames = 0;
  }

  get seconds() {
    return this.frames / this.rate;
  }

  /** @param {Float32Array} block */
  add(block) {
    if (this.seconds >= MOST_SECONDS) return;
    const piece = wholeNumbers(block);
    this.pieces.push(piece);
    this.frames += piece.length;
  }

  /** The take as a WAV file. */
  file() {
    return wavFile(this.pieces, this.rate);
  }
}
