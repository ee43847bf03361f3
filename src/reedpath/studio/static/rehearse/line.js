// @ts-check
// The line to the tracker: blocks out, what is heard in them back; what is late is dropped, so that the delay never grows.

/** @typedef {import("./microphone.js").Block} Block */
/** @typedef {[seconds: number, hole: number, semitones: number, event: number, cents: number, right: boolean, sign: string, hz: number]} Mark */
/** @typedef {{seconds: number, cents: number, unsteady_cents: number}} Held */
/** @typedef {{block: number, marks: (Mark | null)[], holding?: Held, held?: Held, longest?: Held}} Answer */
/** @typedef {{answer: Answer, heard: number}} Heard an answer, and when its sound was heard */

// blocks on their way, sent and not answered, from which all that follow are dropped, and down to which they have to go
// before the next is sent: 64 ms, which nobody plays over without noticing, and 21 ms
const HIGH = 12;
const LOW = 4;
// bytes that the socket holds back, likewise: it may fill while nothing is answered
const HIGH_BYTES = 16 * 1040;
const LOW_BYTES = 4 * 1040;
const HEADER_BYTES = 16;
// milliseconds before a line that broke is opened again
const AGAIN = 500;

/**
 * @param {Block} block
 * @param {number} number
 * @param {number} seconds
 */
export function packed(block, number, seconds) {
  const message = new ArrayBuffer(HEADER_BYTES + 4 * block.block.length);
  const head = new DataView(message);
  head.setUint32(0, number, true);
  head.setUint32(4, block.block.length, true);
  head.setFloat64(8, seconds, true);
  new Float32Array(message, HEADER_BYTES).set(block.block);
  return message;
}

/** Decides what is dropped: ``letsPass`` for each block, by how many are unanswered and how many bytes are held back. */
export class Gate {
  constructor() {
    this.closed = false;
    this.dropped = 0;
  }

  /**
   * @param {number} waiting
   * @param {number} bytes
   */
  letsPass(waiting, bytes) {
    if (this.closed && waiting <= LOW && bytes <= LOW_BYTES) this.closed = false;
    if (!this.closed && (waiting >= HIGH || bytes >= HIGH_BYTES)) this.closed = true;
    if (this.closed) this.dropped += 1;
    return !this.closed;
  }
}

/**
 * Open a line. ``ready`` is called when the tracker listens, ``lost`` when the line breaks; it is opened again then.
 * @param {string} address path and query
 * @param {{ready: () => void, heard: (heard: Heard) => void, lost: () => void}} told
 */
export function openLine(address, told) {
  /** @type {Map<number, number>} */
  const waiting = new Map();
  const gate = new Gate();
  let number = 0;
  let isReady = false;
  let isOver = false;
  /** @type {WebSocket} */
  let socket;

  /** @param {Answer} answer */
  function answered(answer) {
    const heard = waiting.get(answer.block);
    for (const one of waiting.keys()) {
      if (one > answer.block) break;
      waiting.delete(one);
    }
    if (heard !== undefined) told.heard({ answer, heard });
  }

  function open() {
    socket = new WebSocket(`ws://${location.host}${address}`);
    socket.binaryType = "arraybuffer";
    socket.onmessage = (event) => {
      const data = JSON.parse(event.data);
      if (data.ready) {
        isReady = true;
        told.ready();
      } else answered(data);
    };
    socket.onclose = () => {
      isReady = false;
      waiting.clear();
      if (isOver) return;
      told.lost();
      setTimeout(() => isOver || open(), AGAIN);
    };
  }

  open();
  return {
    gate,
    /**
     * @param {Block} block
     * @param {number} seconds when its first frame sounds, from beat 0
     */
    send(block, seconds) {
      if (!isReady || socket.readyState !== WebSocket.OPEN) return;
      number += 1;
      if (!gate.letsPass(waiting.size, socket.bufferedAmount)) return;
      waiting.set(number, block.heard);
      socket.send(packed(block, number, seconds));
    },
    close() {
      isOver = true;
      socket.close();
    },
  };
}
