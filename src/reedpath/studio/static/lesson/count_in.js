// @ts-check
// Counting in and clicking, in the ear of who plays: beats are set on the sound's own clock, so that they are even
// however busy the page is.

// seconds: sounds are set so far ahead, and looked after so often
const AHEAD = 0.2;
const OFTEN = 0.05;
// hertz of the first beat of a bar and of the others, and seconds of a click; ours
const HIGH = 1760;
const LOW = 1175;
const LENGTH = 0.03;

export class CountIn {
  /** @param {(beat: number, isCount: boolean) => void} told called as a beat sounds: its number in the bar, from 1 */
  constructor(told) {
    this.told = told;
    /** @type {AudioContext | null} */
    this.context = null;
    this.timer = 0;
    this.next = 0;
    this.beat = 0;
  }

  get runs() {
    return this.timer !== 0;
  }

  /**
   * Count in a bar, then click on or fall silent. To be called from a key or a button, which lets sound begin.
   * @param {{bpm: number, beats: number, goesOn: boolean}} wish
   */
  start({ bpm, beats, goesOn }) {
    this.stop();
    this.context = this.context ?? new AudioContext();
    this.context.resume();
    this.next = this.context.currentTime + 0.15;
    this.beat = 0;
    const set = () => {
      const context = /** @type {AudioContext} */ (this.context);
      while (this.next < context.currentTime + AHEAD) {
        if (this.beat >= beats && !goesOn) return this.stop();
        this.click(this.next, this.beat % beats);
        this.beat += 1;
        this.next += 60 / bpm;
      }
    };
    this.timer = window.setInterval(set, 1000 * OFTEN);
    this.beats = beats;
    set();
  }

  /**
   * @param {number} at
   * @param {number} inBar
   */
  click(at, inBar) {
    const context = /** @type {AudioContext} */ (this.context);
    const tone = new OscillatorNode(context, { frequency: inBar ? LOW : HIGH });
    const loud = new GainNode(context, { gain: 0 });
    loud.gain.setValueAtTime(0.4, at);
    loud.gain.exponentialRampToValueAtTime(0.001, at + LENGTH);
    tone.connect(loud).connect(context.destination);
    tone.start(at);
    tone.stop(at + LENGTH);
    const isCount = this.beat < (this.beats ?? 4);
    window.setTimeout(() => this.told(inBar + 1, isCount), 1000 * Math.max(0, at - context.currentTime));
  }

  stop() {
    clearInterval(this.timer);
    this.timer = 0;
  }
}
