// @ts-check
// The take: all that the microphone heard while something was played along, as a file.

// seconds of a take; at 48,000 values a second it takes 58 MB of memory
export const MOST_SECONDS = 600;
const HEADER_BYTES = 44;

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
    const piece = new Int16Array(block.length);
    for (let index = 0; index < block.length; index += 1) {
      piece[index] = Math.round(32767 * Math.max(-1, Math.min(1, block[index])));
    }
    this.pieces.push(piece);
    this.frames += piece.length;
  }

  /** The take as a WAV file of 16 bits (Microsoft and IBM, Multimedia Programming Interface, 1991). */
  file() {
    const header = new DataView(new ArrayBuffer(HEADER_BYTES));
    const bytes = 2 * this.frames;
    /** @type {(at: number, text: string) => void} */
    const write = (at, text) => [...text].forEach((sign, index) => header.setUint8(at + index, sign.charCodeAt(0)));
    write(0, "RIFF");
    header.setUint32(4, HEADER_BYTES - 8 + bytes, true);
    write(8, "WAVEfmt ");
    header.setUint32(16, 16, true);
    header.setUint16(20, 1, true); // whole numbers
    header.setUint16(22, 1, true); // one channel
    header.setUint32(24, this.rate, true);
    header.setUint32(28, 2 * this.rate, true);
    header.setUint16(32, 2, true);
    header.setUint16(34, 16, true);
    write(36, "data");
    header.setUint32(40, bytes, true);
    return new Blob([header.buffer, .../** @type {BlobPart[]} */ (this.pieces)], { type: "audio/wav" });
  }
}
