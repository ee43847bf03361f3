// Sound recorded through the microphone, as it is: nothing that browsers do to voices is done to it.

/** What a microphone is asked for: echo cancellation and the like spoil notes. */
export const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

/**
 * Record until it is stopped; an error of the browser where there is no microphone, or it may not be used.
 * @returns {Promise<{stream: MediaStream, stop: () => Promise<{sound: Blob, ending: string}>}>}
 */
export const recordSound = async () => {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: AS_IT_IS });
  const close = () => stream.getTracks().forEach((track) => track.stop());
  /** @type {MediaRecorder} */
  let recorder;
  try {
    recorder = new MediaRecorder(stream, { audioBitsPerSecond: 128000 });
  } catch (error) {
    close(); // a microphone is not left open by what can't record
    throw error;
  }
  /** @type {Blob[]} */
  const pieces = [];
  recorder.ondataavailable = (event) => pieces.push(event.data);
  recorder.start(1000);
  return {
    stream,
    stop() {
      return new Promise((done) => {
        recorder.onstop = () => {
          close();
          const type = recorder.mimeType;
          const ending = type.includes("ogg") ? "ogg" : type.includes("mp4") ? "m4a" : "webm";
          done({ sound: new Blob(pieces, { type }), ending });
        };
        recorder.stop();
      });
    },
  };
};
