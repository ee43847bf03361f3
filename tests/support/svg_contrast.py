"""Contrast of two inks; and how far all in a page's SVG stands out from what it is drawn on, as browsers paint it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from support.browsers import playwright


def _linear(channel: int) -> float:
    share = channel / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


def _relative_luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[i : i + 2], 16)) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(one: str, other: str) -> float:
    """Contrast of two inks "#rrggbb", 1 to 21, by WCAG 2.2 (W3C 2023), "contrast ratio"."""
    darker, lighter = sorted((_relative_luminance(one), _relative_luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


# Of every text, line and shape of an SVG that does not stand out: what it is, its ratio, its inks and grounds.
# The ratios are those of WCAG 2.2: 1.4.3 "contrast (minimum)", 4.5 for text; 1.4.11 "non-text contrast", 3 for
# graphics. A text is measured at six places against what lies under it; a line or a shape at six places of its edge
# against what lies on either side, where one is enough: inside, a shape lies on itself. It stands out where it does
# at half of the places, for lines cross others. What only backs other things has a class of BACKINGS.
LOST = """(backings) => {
  const channels = (text) => {
    const [r, g, b, a = 1] = (text.match(/[\\d.]+/g) || [0, 0, 0, 0]).map(Number);
    return text.startsWith("color(srgb") ? [255 * r, 255 * g, 255 * b, a] : [r, g, b, a];
  };
  const linear = (share) => (share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4);
  const luminance = ([r, g, b]) => 0.2126 * linear(r / 255) + 0.7152 * linear(g / 255) + 0.0722 * linear(b / 255);
  const ratio = (one, other) => {
    const [dark, light] = [luminance(one), luminance(other)].sort((a, b) => a - b);
    return (light + 0.05) / (dark + 0.05);
  };
  const over = (top, under) => under.map((one, index) => top[index] * top[3] + one * (1 - top[3]));
  const inkOf = (style, name) => {
    if (!style[name] || style[name] === "none" || style[name].startsWith("url")) return null;
    const ink = channels(style[name]);
    ink[3] *= Number(style[name + "Opacity"]) * Number(style.opacity);
    return ink[3] ? ink : null;
  };
  const paintedAt = (element, x, y) => {
    const style = getComputedStyle(element);
    if (!(element instanceof SVGElement) || element.tagName === "svg") return channels(style.backgroundColor);
    if (!element.isPointInFill) return null;
    const at = new DOMPoint(x, y).matrixTransform(element.getScreenCTM().inverse());
    const drawn = [["stroke", element.isPointInStroke(at)], ["fill", element.isPointInFill(at)]];
    return drawn.map(([name, inside]) => inside && inkOf(style, name)).find((ink) => ink) || null;
  };
  const groundAt = (x, y, self) => {
    const stack = document.elementsFromPoint(x, y);
    const under = stack.slice(stack.indexOf(self) + 1).filter((one) => !self.contains(one));
    const inks = [];
    for (const one of [...under, document.documentElement]) {
      const ink = paintedAt(one, x, y);
      if (ink?.[3]) inks.push(ink);
      if (ink?.[3] === 1) break;
    }
    return inks.reverse().reduce((ground, ink) => over(ink, ground), [255, 255, 255]);
  };
  const isDrawn = (one, x, y) => ["use", "text"].includes(one.tagName) || paintedAt(one, x, y)?.[3];
  const onTop = (x, y) => document.elementsFromPoint(x, y).find((one) => isDrawn(one, x, y));
  const hit = new CSSStyleSheet();
  hit.replaceSync("* { pointer-events: auto !important; } svg * { pointer-events: painted !important; }");
  document.adoptedStyleSheets = [hit];
  const lost = new Map();
  let count = 0;
  const kinds = "text, path, rect, circle, ellipse, line, polyline, polygon, use";
  for (const one of document.querySelectorAll(`svg :is(${kinds})`)) {
    const style = getComputedStyle(one);
    const hidden = style.visibility === "hidden" || one.closest("[hidden], defs, symbol, clipPath, mask");
    // a sign that has inks of its own is measured where it stands alone
    const sign = one.tagName === "use" ? document.querySelector(one.getAttribute("href")) : null;
    if (hidden || sign?.querySelector("[fill], [class]") || !one.getClientRects().length) continue;
    if (backings.some((name) => one.closest("." + name))) continue;
    one.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
    const box = one.getBoundingClientRect();
    if (!box.width && !box.height) continue;
    const shares = [0.09, 0.23, 0.37, 0.51, 0.67, 0.83];
    const length = one.getPointAtLength ? one.getTotalLength() : 0;
    const at = (along) => one.getPointAtLength(along).matrixTransform(one.getScreenCTM());
    const scale = Math.sqrt(Math.abs(one.getScreenCTM().a * one.getScreenCTM().d));
    const away = 1.5 + (style.stroke === "none" ? 0 : (parseFloat(style.strokeWidth) * scale) / 2);
    const beside = (share) => {
      const [before, here, after] = [share * length - 0.01, share * length, share * length + 0.01].map(at);
      const [dx, dy] = [after.x - before.x, after.y - before.y];
      const step = away / (Math.hypot(dx, dy) || 1);
      return [[here.x - dy * step, here.y + dx * step, here], [here.x + dy * step, here.y - dx * step, here]];
    };
    const under = (share, index) => {
      const [x, y] = [box.x + share * box.width, box.y + [0.5, 0.27, 0.73, 0.41, 0.33, 0.61][index] * box.height];
      return [[x, y, { x, y }]];
    };
    const points = shares.flatMap(length ? beside : under);
    const { width, height } = one.getBBox();  // a line has no inside to be filled
    const painted = one.tagName === "line" || !width || !height ? ["stroke"] : ["fill", "stroke"];
    const inks = painted.map((name) => inkOf(style, name)).filter((ink) => ink);
    // only where it can be seen, which is to be half of it: not what is scrolled away, or lies under something
    const there = points.filter(([x, y, place]) => onTop(place.x, place.y) === one || onTop(x, y) === one);
    const visible = new Set(there.map(([, , place]) => place));
    const [seen, whole] = [points.filter(([, , place]) => visible.has(place)), visible.size];
    if (!inks.length || whole * 2 < shares.length) continue;
    count += 1;
    const least = one.tagName === "text" ? 4.5 : 3;
    const grounds = seen.map(([x, y]) => groundAt(x, y, one));
    const best = grounds.map((ground) => Math.max(...inks.map((ink) => ratio(over(ink, ground), ground))));
    const places = new Set(seen.filter((_, index) => best[index] >= least).map(([, , place]) => place));
    if (places.size * 2 >= whole) continue;
    const around = [one, one.parentElement, one.ownerSVGElement];
    const name = around.map((each) => each.tagName + "." + each.getAttribute("class")).join(" in ");
    lost.set(name, [Math.max(...best).toFixed(2), ...inks, ...grounds].join(" / "));
  }
  document.adoptedStyleSheets = [];
  return [count, [...lost]];
}"""
BACKINGS = ["ground", "shade", "aside", "around"]


def assert_pictures_stand_out(page: playwright.Page) -> int:
    """Everything drawn in SVG stands out, light and dark; how much of it there is."""
    count = 0
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        count, lost = page.evaluate(LOST, BACKINGS)
        assert lost == [], (page.url, scheme, lost)
    page.emulate_media(color_scheme="null")
    page.evaluate("scrollTo(0, 0)")
    return count
