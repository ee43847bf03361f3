// @ts-check
// The time line: stretches of films side by side, each pressed to stay or to go, with handles between them.

import { say } from "../words.js";

/** @typedef {{film: number, start_seconds: number, end_seconds: number, kind: string, keep: boolean, why: string, played: string, right?: number | null, seen?: number | null}} Stretch */

const SPACE = "http://www.w3.org/2000/svg";
// pixels: of a second at first, over and under the stretches, of them, and half of a handle's width
const PER_SECOND = 14;
const TOP = 18;
const HEIGHT = 84;
const HALF = 11;
// seconds: a key moves a handle so far, with shift held so far; nothing is shorter
const STEP = 0.1;
const LEAP = 1;
const SHORTEST = 0.05;
// decibels at the foot of the loudness
const FLOOR = -70;

/**
 * @param {string} name
 * @param {Record<string, string | number>} attributes
 * @returns {SVGElement}
 */
function made(name, attributes) {
  const element = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}

export class TimeLine {
  /**
   * @param {SVGSVGElement} svg
   * @param {{name: string, seconds: number, loudness: number[]}[]} films
   * @param {Stretch[]} stretches
   * @param {{changed: () => void, sought: (film: number, seconds: number, one: Stretch) => void}} tells
   */
  constructor(svg, films, stretches, tells) {
    this.svg = svg;
    this.films = films;
    this.stretches = stretches;
    this.tells = tells;
    this.scale = PER_SECOND;
    /** @type {Stretch | null} the one that was looked at last */
    this.sought = null;
    this.offsets = films.map((_one, index) => films.slice(0, index).reduce((sum, film) => sum + film.seconds, 0));
    this.mark = made("line", { class: "now", y1: 0, y2: TOP + HEIGHT + 8, x1: 0, x2: 0 });
    this.draw();
  }

  /**
   * @param {number} film
   * @param {number} seconds
   */
  x(film, seconds) {
    return (this.offsets[film] + seconds) * this.scale;
  }

  /** @param {Stretch} one */
  name(one) {
    return [say(`lessonfilm.kind.${one.kind}`), one.played].filter(Boolean).join(" ");
  }

  /**
   * Which other camera shows it, as words.
   * @param {Stretch} one
   */
  seen(one) {
    const film = one.seen == null ? null : this.films[one.seen];
    return film ? say("lessonfilm.seen_by", { name: film.name }) : "";
  }

  /**
   * @param {Stretch} one
   * @param {number} seconds
   */
  seek(one, seconds) {
    this.sought = one;
    this.tells.sought(one.film, seconds, one);
  }

  /** @param {number} ratio */
  zoom(ratio) {
    this.scale = Math.min(200, Math.max(1, this.scale * ratio));
    this.draw();
  }

  draw() {
    const held = document.activeElement?.id;
    const width = this.x(this.films.length - 1, this.films[this.films.length - 1].seconds);
    this.svg.replaceChildren();
    this.svg.setAttribute("width", String(Math.ceil(width + 2)));
    this.svg.setAttribute("viewBox", `0 0 ${Math.ceil(width + 2)} 144`);
    this.films.forEach((film, index) => this.drawFilm(film, index));
    this.stretches.forEach((one, index) => this.svg.append(this.stretch(one, index)));
    this.stretches.forEach((one, index) => {
      const after = this.stretches[index + 1];
      // in another order than filmed, the next one may lie elsewhere
      if (after && after.film === one.film && after.start_seconds === one.end_seconds) this.svg.append(this.handle(index));
    });
    this.svg.append(this.mark);
    if (held) document.getElementById(held)?.focus();
  }

  /**
   * @param {{seconds: number, loudness: number[]}} film
   * @param {number} index
   */
  drawFilm(film, index) {
    const foot = TOP + HEIGHT + 8;
    const points = film.loudness.map((db, tenth) => {
      const high = 28 * Math.max(0, 1 - db / FLOOR);
      return `${this.x(index, tenth / 10).toFixed(1)},${(foot + 28 - high).toFixed(1)}`;
    });
    const ends = [`${this.x(index, 0)},${foot + 28}`, ...points, `${this.x(index, film.seconds)},${foot + 28}`];
    this.svg.append(made("polygon", { class: "loud", points: ends.join(" ") }));
    const every = this.scale < 4 ? 60 : this.scale < 30 ? 10 : 2;
    for (let second = 0; second < film.seconds; second += every) {
      const tick = made("text", { class: "tick", x: this.x(index, second) + 2, y: 12 });
      tick.textContent = `${Math.floor(second / 60)}:${String(Math.round(second % 60)).padStart(2, "0")}`;
      this.svg.append(tick);
    }
  }

  /**
   * @param {Stretch} one
   * @param {number} index
   */
  stretch(one, index) {
    const [left, right] = [this.x(one.film, one.start_seconds), this.x(one.film, one.end_seconds)];
    const name = this.name(one);
    const group = made("g", {
      class: `stretch ${one.kind}${one.keep ? " keep" : ""}`, role: "button", tabindex: 0, id: `stretch-${index}`,
      "aria-pressed": String(one.keep), "aria-label": [String(index + 1), name, say(`lessonfilm.because.${one.why.replace(" ", "_")}`), this.seen(one)].filter(Boolean).join(", "),
    });
    group.append(made("rect", { x: left + 1, y: TOP, width: Math.max(1, right - left - 2), height: HEIGHT, rx: 4 }));
    if (right - left > 60) {
      const text = made("text", { x: left + 7, y: TOP + 20 });
      text.textContent = name;
      group.append(text);
    }
    if (one.seen != null && right - left > 90) {
      const text = made("text", { x: left + 7, y: TOP + HEIGHT - 12 });
      text.textContent = this.seen(one);
      group.append(text);
    }
    group.addEventListener("click", (event) => {
      const at = one.start_seconds + (event.clientX - group.getBoundingClientRect().left) / this.scale;
      this.seek(one, Math.min(one.end_seconds, Math.max(one.start_seconds, at)));
      this.toggle(index);
    });
    group.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      this.seek(one, one.start_seconds);
      this.toggle(index);
    });
    return group;
  }

  /** @param {number} index */
  toggle(index) {
    const one = this.stretches[index];
    one.keep = !one.keep;
    this.draw();
    document.getElementById(`stretch-${index}`)?.focus();
    this.tells.changed();
  }

  /** @param {number} index */
  handle(index) {
    const [one, after] = [this.stretches[index], this.stretches[index + 1]];
    const at = this.x(one.film, one.end_seconds);
    const group = made("g", {
      class: "handle", role: "slider", tabindex: 0, id: `handle-${index}`, "aria-orientation": "horizontal",
      "aria-label": say("lessonfilm.handle", { before: index + 1, after: index + 2 }),
      "aria-valuemin": one.start_seconds.toFixed(1), "aria-valuemax": after.end_seconds.toFixed(1),
      "aria-valuenow": one.end_seconds.toFixed(2), "aria-valuetext": `${one.end_seconds.toFixed(1)} s`,
    });
    group.append(made("rect", { x: at - HALF, y: TOP - 6, width: 2 * HALF, height: HEIGHT + 12 }));
    group.append(made("line", { x1: at, x2: at, y1: TOP - 4, y2: TOP + HEIGHT + 4 }));
    group.addEventListener("keydown", (event) => {
      const way = event.key === "ArrowLeft" ? -1 : event.key === "ArrowRight" ? 1 : 0;
      if (!way) return;
      event.preventDefault();
      this.move(index, one.end_seconds + way * (event.shiftKey ? LEAP : STEP));
      this.tells.changed();
    });
    group.addEventListener("pointerdown", (event) => this.drag(event, index));
    return group;
  }

  /**
   * @param {PointerEvent} event
   * @param {number} index
   */
  drag(event, index) {
    event.preventDefault();
    const [from, was] = [event.clientX, this.stretches[index].end_seconds];
    /** @param {PointerEvent} moved */
    const go = (moved) => this.move(index, was + (moved.clientX - from) / this.scale);
    const stop = () => {
      removeEventListener("pointermove", go);
      removeEventListener("pointerup", stop);
      removeEventListener("pointercancel", stop);
      this.tells.changed();
    };
    addEventListener("pointermove", go);
    addEventListener("pointerup", stop);
    addEventListener("pointercancel", stop);
  }

  /**
   * @param {number} index
   * @param {number} seconds
   */
  move(index, seconds) {
    const [one, after] = [this.stretches[index], this.stretches[index + 1]];
    const at = Math.min(after.end_seconds - SHORTEST, Math.max(one.start_seconds + SHORTEST, seconds));
    one.end_seconds = after.start_seconds = Math.round(at * 1000) / 1000;
    this.draw();
    document.getElementById(`handle-${index}`)?.focus();
    this.seek(one, one.end_seconds);
  }

  /**
   * @param {number} film
   * @param {number} seconds
   */
  now(film, seconds) {
    const x = this.x(Math.max(0, film), seconds);
    this.mark.setAttribute("x1", String(x));
    this.mark.setAttribute("x2", String(x));
  }

  /**
   * The stretch at a moment, -1 for none.
   * @param {number} film
   * @param {number} seconds
   */
  at(film, seconds) {
    return this.stretches.findIndex((one) => one.film === film && one.start_seconds < seconds && seconds < one.end_seconds);
  }
}
