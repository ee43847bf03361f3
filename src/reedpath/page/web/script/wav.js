// Sound as a WAV file of 16 bits (Microsoft and IBM, Multimedia Programming Interface, 1991).

const HEADER_BYTES = 44;

/** Values from -1 to 1 as whole numbers of 16 bits.
 * @param {Float32Array} values */
export function wholeNumbers(values) {
  return Int16Array.from(values, (value) => Math.round(32767 * Math.max(-1, Math.min(1, value))));
}

/** A file of one channel.
 * @param {Int16Array[]} pieces one after the other
 * @param {number} rate values a second
 * @returns {Blob} */
export function wavFile(pieces, rate) {
  const header = new DataView(new ArrayBuffer(HEADER_BYTES));
  const bytes = 2 * pieces.reduce((sum, piece) => sum + piece.length, 0);
  const write = (/** @type {number} */ at, /** @type {string} */ text) =>
    [...text].forEach((sign, index) => header.setUint8(at + index, sign.charCodeAt(0)));
  write(0, "RIFF");
  header.setUint32(4, HEADER_BYTES - 8 + bytes, true);
  write(8, "WAVEfmt ");
  header.setUint32(16, 16, true);
  header.setUint16(20, 1, true); // whole numbers
  header.setUint16(22, 1, true); // one channel
  header.setUint32(24, rate, true);
  header.setUint32(28, 2 * rate, true);
  header.setUint16(32, 2, true);
  header.setUint16(34, 16, true);
  write(36, "data");
  header.setUint32(40, bytes, true);
  return new Blob([header.buffer, .../** @type {BlobPart[]} */ (pieces)], { type: "audio/wav" });
}
