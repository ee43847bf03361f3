// @ts-check
// The drawing's inks, for what is drawn on a canvas: read again when the light changes.

/** @typedef {Record<"ground" | "text" | "faint" | "line" | "mark" | "shade" | "comb", string>} Inks */

const NAMES = { ground: "--ground", text: "--text", faint: "--faint-text", line: "--line", mark: "--mark", shade: "--shade", comb: "--comb" };

/** @returns {Inks} */
function read() {
  const style = getComputedStyle(document.documentElement);
  return /** @type {Inks} */ (
    Object.fromEntries(Object.entries(NAMES).map(([name, ink]) => [name, style.getPropertyValue(ink).trim() || "#808080"]))
  );
}

let inks = read();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => (inks = read()));

export const inksNow = () => inks;

/**
 * A canvas that is as large as its place, in pixels of the screen; its context is in CSS pixels.
 * @param {HTMLCanvasElement} canvas
 */
export function sized(canvas) {
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const size = { width: 0, height: 0 };
  new ResizeObserver(() => {
    const box = canvas.getBoundingClientRect();
    const ratio = devicePixelRatio || 1;
    size.width = box.width;
    size.height = box.height;
    canvas.width = Math.round(box.width * ratio);
    canvas.height = Math.round(box.height * ratio);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
  }).observe(canvas);
  return { context, size };
}

/**
 * A line through points, broken where one is null, over a ground that sets it off.
 * @param {CanvasRenderingContext2D} context
 * @param {([number, number] | null)[]} points
 * @param {{width: number, dash?: number[]}} look
 */
export function stroke(context, points, { width, dash = [] }) {
  const path = new Path2D();
  let isDown = false;
  for (const point of points) {
    if (point === null) isDown = false;
    else if (isDown) path.lineTo(...point);
    else {
      path.moveTo(...point);
      isDown = true;
    }
  }
  context.lineJoin = context.lineCap = "round";
  context.setLineDash([]);
  context.strokeStyle = inks.ground;
  context.lineWidth = width + 3;
  context.stroke(path);
  context.setLineDash(dash);
  context.strokeStyle = inks.mark;
  context.lineWidth = width;
  context.stroke(path);
  context.setLineDash([]);
}
