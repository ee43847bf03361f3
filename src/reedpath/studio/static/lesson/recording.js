// @ts-check
// Camera and microphone recorded part by part, where the browser allows it.

import { AS_IT_IS } from "../sound_recorder.js";

/** @typedef {{part: number, take: number, blob: Blob | null, seconds: number, kept: boolean}} Take */

// kinds of films that browsers record, the best known first; a browser takes the first that it can
const KINDS = ["video/mp4;codecs=avc1.42E01E,mp4a.40.2", "video/webm;codecs=vp8,opus", "video/webm"];

export class Recording {
  /** @param {() => void} went called when more of what is recorded has come */
  constructor(went) {
    this.went = went;
    // bytes of the take that is on, by which it is seen that it is really recorded
    this.bytes = 0;
    /** @type {MediaStream | null} */
    this.stream = null;
    /** @type {MediaRecorder | null} */
    this.recorder = null;
    /** @type {Take[]} */
    this.takes = [];
    /** @type {Promise<void>[]} */
    this.endings = [];
  }

  /** Whether this browser can record at all. */
  static get isPossible() {
    return "MediaRecorder" in window && !!navigator.mediaDevices?.getUserMedia;
  }

  /** Ask for camera and microphone, the sound as it is: nothing taken from it. */
  async open() {
    const video = { width: { ideal: 1280 }, height: { ideal: 720 } };
    this.stream = await navigator.mediaDevices.getUserMedia({ video, audio: AS_IT_IS });
    return this.stream;
  }

  close() {
    this.stream?.getTracks().forEach((one) => one.stop());
    this.stream = null;
  }

  /**
   * How often a part was recorded, the one that is on with it.
   * @param {number} part
   */
  count(part) {
    return this.takes.filter((one) => one.part === part).length;
  }

  /**
   * Begin to record a part, at once: what was recorded before may still be on its way.
   * @param {number} part
   */
  start(part) {
    if (!this.stream) return;
    const type = KINDS.find((one) => MediaRecorder.isTypeSupported(one));
    const recorder = new MediaRecorder(this.stream, type ? { mimeType: type } : {});
    /** @type {Take} */
    const take = { part, take: this.count(part) + 1, blob: null, seconds: 0, kept: true };
    /** @type {Blob[]} */
    const blocks = [];
    const began = performance.now();
    this.bytes = 0;
    recorder.ondataavailable = (event) => {
      if (!event.data.size) return;
      blocks.push(event.data);
      if (this.recorder === recorder) this.bytes += event.data.size;
      this.went();
    };
    this.endings.push(
      new Promise((done) => {
        recorder.onstop = () => {
          if (blocks.length) take.blob = new Blob(blocks, { type: recorder.mimeType });
          done();
        };
      }),
    );
    this.ended = () => (take.seconds = (performance.now() - began) / 1000);
    this.takes.push(take);
    recorder.start(1000);
    this.recorder = recorder;
  }

  /**
   * End what is recorded; a part that is to be recorded again is left out.
   * @param {boolean} isKept
   */
  stop(isKept) {
    const recorder = this.recorder;
    this.recorder = null;
    if (!recorder || recorder.state === "inactive") return;
    this.ended?.();
    recorder.stop();
    if (!isKept) this.takes[this.takes.length - 1].kept = false;
  }

  /** Wait until all that was recorded is there; what came to nothing is forgotten. */
  async settled() {
    await Promise.all(this.endings);
    this.takes = this.takes.filter((one) => one.blob);
  }

  /** What is kept, in the order of the parts, with names of files. */
  get films() {
    const kept = this.takes.filter((one) => one.kept);
    kept.sort((one, other) => one.part - other.part || one.take - other.take);
    return kept.map((one) => {
      const file = /** @type {Blob} */ (one.blob);
      return { file, name: `part-${one.part + 1}-take-${one.take}.${file.type.includes("mp4") ? "mp4" : "webm"}` };
    });
  }
}
