// @ts-check
// How long it takes from the sound to the mark, over the last seconds.

// delays that are kept: about ten seconds of blocks
const KEPT = 2000;

export class Delays {
  constructor() {
    /** @type {number[]} */
    this.kept = [];
    this.next = 0;
  }

  /** @param {number} milliseconds */
  add(milliseconds) {
    if (this.kept.length < KEPT) this.kept.push(milliseconds);
    else this.kept[this.next] = milliseconds;
    this.next = (this.next + 1) % KEPT;
  }

  get count() {
    return this.kept.length;
  }

  /**
   * The delay that a share of them does not pass; 0 where there are none.
   * @param {number} share
   */
  at(share) {
    const sorted = [...this.kept].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0;
  }
}

// a sound begins: root mean square of a block before, at most, for so many blocks, and from then on at least (full
// scale is 1)
const QUIET = 0.005;
const LOUD = 0.02;
const QUIET_BLOCKS = 18;

/** Finds the blocks in which a sound begins after a silence. */
export class Onsets {
  constructor() {
    this.quiet = 0;
    /** @type {number | null} */
    this.since = null;
  }

  /** @param {import("./microphone.js").Block} block */
  hear(block) {
    let sum = 0;
    for (const value of block.block) sum += value * value;
    const level = Math.sqrt(sum / block.block.length);
    if (level < QUIET) {
      this.quiet += 1;
      this.since = null;
    } else {
      if (level >= LOUD && this.quiet >= QUIET_BLOCKS) this.since = block.heard;
      if (level >= LOUD) this.quiet = 0;
    }
  }

  /**
   * The milliseconds from the block in which the sound began to now, once for each; null for none.
   * @param {number} heard of the block that is drawn
   * @param {number} now
   */
  drawn(heard, now) {
    if (this.since === null || heard < this.since) return null;
    const passed = now - this.since;
    this.since = null;
    return passed;
  }
}
