// @ts-check
// Runs beside the sound: cuts what the microphone hears into blocks, and says when each was heard.

// frames of a block; what the browser brings comes in bursts of 10 ms, so nothing is gained below
const BLOCK_FRAMES = 256;

/** @type {any} */
const scope = globalThis;
/** @type {{new (): {port: MessagePort}}} */
const Processor = scope.AudioWorkletProcessor;

class BlockCutter extends Processor {
  constructor() {
    super();
    this.block = new Float32Array(BLOCK_FRAMES);
    this.filled = 0;
    this.frame = 0;
  }

  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const channel = inputs[0]?.[0];
    if (!channel) return true; // nothing is connected yet
    let taken = 0;
    while (taken < channel.length) {
      if (this.filled === 0) this.frame = scope.currentFrame + taken;
      const count = Math.min(channel.length - taken, BLOCK_FRAMES - this.filled);
      this.block.set(channel.subarray(taken, taken + count), this.filled);
      this.filled += count;
      taken += count;
      if (this.filled === BLOCK_FRAMES) this.hand();
    }
    return true;
  }

  hand() {
    const { block, frame } = this;
    this.block = new Float32Array(BLOCK_FRAMES);
    this.filled = 0;
    this.port.postMessage({ frame, heard: Date.now(), block }, [block.buffer]);
  }
}

scope.registerProcessor("block-cutter", BlockCutter);
