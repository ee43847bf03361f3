// @ts-check
// Sound recorded through the microphone, as the lesson's page records it.

export { AS_IT_IS, recordSound } from "./page/recorder.js";
