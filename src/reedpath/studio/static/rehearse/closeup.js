// @ts-check
// The pitch from near: cents round the target, over the last seconds. The target is a line to reach.

import { inksNow, sized, stroke } from "./inks.js";

// seconds that are seen, and marks that are kept of them (one comes every 4 ms)
const SEEN_SECONDS = 4;
const KEPT = Math.ceil(SEEN_SECONDS / 0.004) + 50;
// cents that are seen above and below the target at least, and beyond the natural note of a bend
const ABOVE = 70;
const BELOW = 70;
const BEYOND = 30;
// cents between two marks beyond which it is no longer one line: another note
const LEAP = 60;
const LETTERS = "600 14px system-ui, sans-serif";

/** @typedef {{seconds: number, cents: number | null, right: boolean}} Point */
/** @typedef {{label: string, natural: number | null, natural_label: string, tolerance: number}} Target */

/** @param {HTMLCanvasElement} canvas */
export function makeCloseup(canvas) {
  const { context, size } = sized(canvas);
  /** @type {Point[]} */
  let points = [];
  /** @type {Target | null} */
  let target = null;

  function range() {
    const natural = target?.natural ?? 0;
    const [low, high] = [Math.min(-BELOW, natural - BEYOND), Math.max(ABOVE, natural + BEYOND)];
    return (/** @type {number} */ cents) =>
      ((high - Math.max(low, Math.min(high, cents))) / (high - low)) * (size.height - 12) + 6;
  }

  /** @param {number} y @param {string} label @param {number[]} dash @param {number} width */
  function level(y, label, dash, width) {
    const inks = inksNow();
    context.strokeStyle = inks.text;
    context.lineWidth = width;
    context.setLineDash(dash);
    context.beginPath();
    context.moveTo(0, y);
    context.lineTo(size.width, y);
    context.stroke();
    context.setLineDash([]);
    context.font = LETTERS;
    const wide = context.measureText(label).width + 8;
    context.fillStyle = inks.ground;
    context.fillRect(4, y - 10, wide, 20);
    context.fillStyle = inks.text;
    context.textBaseline = "middle";
    context.fillText(label, 8, y);
  }

  return {
    /** @param {Target | null} next */
    aim(next) {
      target = next;
    },

    /** @param {Point} point */
    mark(point) {
      points.push(point);
      if (points.length > 2 * KEPT) points = points.slice(-KEPT);
    },

    clear() {
      points = [];
    },

    /** @param {number} now on the clock of the points */
    draw(now) {
      if (size.width === 0) return;
      const inks = inksNow();
      context.clearRect(0, 0, size.width, size.height);
      const y = range();
      if (target) {
        context.fillStyle = inks.shade;
        context.fillRect(0, y(target.tolerance), size.width, y(-target.tolerance) - y(target.tolerance));
        if (target.natural !== null) level(y(target.natural), target.natural_label, [2, 6], 1.5);
        level(y(0), target.label, [8, 5], 2.5);
      }
      const x = (/** @type {number} */ seconds) => size.width - 10 - ((now - seconds) / SEEN_SECONDS) * (size.width - 10);
      for (const right of [false, true]) {
        /** @type {([number, number] | null)[]} */
        const line = [];
        /** @type {Point | null} */
        let before = null;
        for (const point of points) {
          const isSeen = point.cents !== null && point.seconds > now - SEEN_SECONDS && point.seconds < now + 1;
          if (!isSeen || point.cents === null) {
            before = null;
            line.push(null);
            continue;
          }
          if (before && (Math.abs(point.cents - (before.cents ?? 0)) > LEAP || point.seconds < before.seconds)) line.push(null);
          if (point.right === right) line.push([x(point.seconds), y(point.cents)]);
          else line.push(null);
          before = point;
        }
        stroke(context, line, { width: right ? 3 : 5 });
      }
    },
  };
}
