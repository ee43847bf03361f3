// The page: takes what it was given, and puts together the players, the words and the keys.

import { bindKeys } from "./keys.js";
import { makePieces } from "./pieces.js";
import { startPlayer } from "./player.js";
import { makeSettings } from "./settings.js";
import { makeWords, mergedWords } from "./words.js";

const page = JSON.parse(document.getElementById("lesson").textContent);
const root = document.documentElement;
const settings = makeSettings(root);
const pageWords = makeWords(page.words, root, document);
root.classList.add("runs");

/** Say something to those who do not see it happen. */
function announce(text) {
  document.getElementById("announced").textContent = text;
}

/** A lesson of the page: its words, and its player once it is wanted. */
function makeLesson(data, prefix) {
  const scope = prefix ? document.getElementById(`${prefix}lesson`) : document;
  const words = prefix ? makeWords(mergedWords(page.words, data.words), root, scope) : pageWords;
  const isPlayed = data.sounds.length > 0 && data.signs.length > 0;
  let player = null;
  const lesson = {
    words,
    player: () => player,
    open() {
      if (isPlayed) player ??= startPlayer(data, words, { scope, prefix, announce, begun, nextSize: settings.nextSize });
    },
  };
  /** Only one sounds at a time. */
  function begun() {
    for (const other of lessons) if (other !== lesson) other.player()?.pause();
  }
  return lesson;
}

const lessons = page.lessons ? page.lessons.map((one, index) => makeLesson(one, `p${index + 1}-`)) : [makeLesson(page, "")];
let current = lessons[0];

function open(index) {
  if (current !== lessons[index]) current.player()?.pause();
  current = lessons[index] ?? current;
  current.open();
}
if (page.lessons) makePieces(page.pieces, page.rounds, open, (index) => lessons[index].player());
else open(0);
const keysOn = document.getElementById("keys-on");
bindKeys(
  () => current.player()?.actions ?? {},
  () => keysOn?.checked,
);

// on paper everything is open
addEventListener("beforeprint", () => {
  for (const one of document.querySelectorAll("details:is(.legend, .part-group, .title)")) one.open = true;
});

function speak(language) {
  for (const words of new Set([pageWords, ...lessons.map((one) => one.words)])) words.speak(language);
  for (const one of lessons) one.player()?.show("language");
}
for (const button of document.querySelectorAll(".languages button")) {
  button.addEventListener("click", () => {
    settings.keep("language", button.lang);
    speak(button.lang);
  });
}
const ownLanguage = navigator.languages?.map((one) => one.slice(0, 2)).find((one) => pageWords.languages.includes(one));
const keptLanguage = settings.settings.language;
speak(pageWords.languages.includes(keptLanguage) ? keptLanguage : ownLanguage ?? pageWords.language);
