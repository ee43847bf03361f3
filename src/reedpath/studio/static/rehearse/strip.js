// @ts-check
// The strip: the lesson's ribbon runs with the music, and over it the pitch that is heard is drawn.

import { inksNow, sized, stroke } from "./inks.js";

/** @typedef {import("./line.js").Mark} Mark */
/** @typedef {{start: number, end: number, targets: [number, number][], natural_cents: number | null, tab: string, says: string, sign: number}} Event */
/** @typedef {{row_px: number, comb_rows: number, strip_rows: number, height_rows: number, lead_rows: number, head_rows: number, top_rows: number, highest_hole: number, semitone_rows: number, clock: [number, number][]}} Picture */

// marks that are kept: half a minute of sound; those that have run out of sight are not needed
const KEPT = 8000;
// pixels: width of the line where all is as asked, where it is not, and that of a target
const RIGHT = 2.5;
const OFF = 5;
// seconds without a mark after which the line is broken
const BREAK_SECONDS = 0.03;
// part of the strip's width that lies left of the line at which the music is
const PAST = 0.3;

/**
 * Numbers between those of a table of pairs that rise.
 * @param {[number, number][]} table
 * @param {number} value
 */
export function between(table, value) {
  let low = 0;
  let high = table.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (table[middle][0] <= value) low = middle;
    else high = middle;
  }
  const [[x0, y0], [x1, y1]] = [table[low], table[Math.max(high, low)]];
  return x1 > x0 ? y0 + ((value - x0) * (y1 - y0)) / (x1 - x0) : y0;
}

/**
 * @param {HTMLElement} place
 * @param {Picture} picture
 * @param {Event[]} events
 */
export function makeStrip(place, picture, events) {
  const run = /** @type {HTMLElement} */ (place.querySelector(".run"));
  const { context, size } = sized(/** @type {HTMLCanvasElement} */ (place.querySelector("canvas")));
  const lineMark = /** @type {HTMLElement} */ (place.querySelector(".line"));
  const groups = events.map((_, index) => [...run.querySelectorAll(`.event[data-event="${index}"]`)]);
  place.style.setProperty("--rows", String(picture.height_rows));
  /** @type {(Mark | null)[]} */
  let marks = [];
  let row = 1; // pixels of a row
  let lit = -1;

  const rowsAt = (/** @type {number} */ seconds) => between(picture.clock, seconds);
  const lineAt = () => Math.max(picture.comb_rows * row + 8, PAST * size.width);

  function measure() {
    row = (run.querySelector("svg")?.getBoundingClientRect().height ?? 1) / picture.height_rows || 1;
    lineMark.style.left = `${lineAt()}px`;
  }
  new ResizeObserver(measure).observe(place);

  const yOf = (/** @type {number} */ hole, /** @type {number} */ semitones) =>
    (picture.top_rows + picture.highest_hole - hole - semitones * picture.semitone_rows) * row;

  /** @param {number} index */
  function light(index) {
    if (index === lit) return;
    for (const one of groups[lit] ?? []) one.classList.remove("sounding");
    for (const one of groups[index] ?? []) one.classList.add("sounding");
    lit = index;
  }

  /** @param {number} now @param {number} due */
  function drawTargets(now, due) {
    const inks = inksNow();
    const x = (/** @type {number} */ seconds) => lineAt() + (rowsAt(seconds) - rowsAt(now)) * row;
    events.forEach((event, index) => {
      const [left, right] = [x(event.start), x(event.end)];
      if (right < 0 || left > size.width) return;
      context.strokeStyle = inks.text;
      context.setLineDash([5, 4]);
      context.lineWidth = index === due ? 3 : 1.5;
      for (const [hole, semitones] of event.targets) {
        if (semitones === 0 && index !== due) continue; // a natural note lies on its cord
        context.beginPath();
        context.moveTo(Math.max(0, left), yOf(hole, semitones));
        context.lineTo(right, yOf(hole, semitones));
        context.stroke();
      }
    });
    context.setLineDash([]);
  }

  /** @param {number} now */
  function drawMarks(now) {
    const from = now - 30;
    /** @type {{look: {width: number, dash?: number[]}, points: ([number, number] | null)[], of: string}[]} */
    const strokes = [];
    /** @type {Mark | null} */
    let before = null;
    for (const mark of marks) {
      if (mark === null || mark[0] < from || mark[0] > now + 1) {
        before = null;
        continue;
      }
      const x = lineAt() + (rowsAt(mark[0]) - rowsAt(now)) * row;
      if (x < 0) continue;
      const look = mark[3] < 0 ? { width: RIGHT, dash: [4, 4] } : { width: mark[5] ? RIGHT : OFF };
      const of = `${mark[1]} ${look.width} ${mark[3] < 0}`;
      const last = strokes[strokes.length - 1];
      const isBroken = before === null || mark[0] - before[0] > BREAK_SECONDS || mark[0] < before[0] || mark[1] !== before[1];
      if (!last || last.of !== of) {
        const join = !isBroken && last ? last.points[last.points.length - 1] : null;
        strokes.push({ look, of, points: join ? [join] : [] });
      } else if (isBroken) last.points.push(null);
      strokes[strokes.length - 1].points.push([x, yOf(mark[1], mark[2])]);
      before = mark;
    }
    for (const one of strokes) stroke(context, one.points, one.look);
  }

  return {
    /** @param {(Mark | null)[]} more */
    mark(more) {
      marks.push(...more);
      if (marks.length > KEPT) marks = marks.slice(-KEPT / 2);
    },

    clear() {
      marks = [];
    },

    /**
     * Show a moment. ``due`` is the event that is to be played, -1 for none.
     * @param {number} now seconds from beat 0
     * @param {number} due
     */
    draw(now, due) {
      if (size.width === 0) return;
      if (row <= 1) measure();
      run.style.transform = `translateX(${(lineAt() - (picture.lead_rows + rowsAt(now)) * row).toFixed(2)}px)`;
      context.clearRect(0, 0, size.width, size.height);
      drawTargets(now, due);
      drawMarks(now);
      light(due);
    },
  };
}
