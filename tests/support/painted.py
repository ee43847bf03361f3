"""Pictures painted ink by ink, to know what each shape is drawn on.

Our own SVG (paths, texts, rectangles, groups that are moved and not turned) is read back and painted into a raster of
names of inks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from lxml import etree
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from reedpath.page.drawing.drawing_data import drawing_data
from reedpath.page.drawing.shapes import Curve, flattened

__all__ = ["Meeting", "inked", "meetings"]

# pixels to a unit of the picture: a weight of 2 units' radius is 8 pixels wide
FINE = 2.0
# pixels around a shape that count as what it is drawn on
AROUND = 2
_TOKEN = re.compile(r"[MLCZ]|-?\d+(?:\.\d+)?")
_MOVED = re.compile(r"translate\((-?[\d.]+)[ ,](-?[\d.]+)\)")


@dataclass(frozen=True, slots=True)
class Meeting:
    """A role of the drawing, and what it is drawn on.

    grounds : names of inks, each with the tenths of the edge (of letters: of their box) along which it lies.
    """

    role: str
    grounds: frozenset[tuple[str, int]]


def _curves(data: str) -> Iterator[Curve]:
    """The pieces of a path as our writer puts them."""
    tokens = _TOKEN.findall(data)
    at, command, start, pieces = 0, "", None, []
    while at < len(tokens):
        if tokens[at] in "MLCZ":
            command = tokens[at]
            at += 1
            if command == "Z":
                yield Curve("", start, tuple(pieces), closed=True)
                start, pieces = None, []
            continue
        count = 3 if command == "C" else 1
        points = tuple((float(tokens[at + 2 * i]), float(tokens[at + 2 * i + 1])) for i in range(count))
        at += 2 * count
        if command == "M":
            if start is not None:
                yield Curve("", start, tuple(pieces))
            start, pieces, command = points[0], [], "L"
        else:
            pieces.append(points)
    if start is not None:
        yield Curve("", start, tuple(pieces))


def inked(root: etree._Element) -> Iterator[tuple[etree._Element, str, tuple[float, float]]]:
    """All elements with an ink that are seen, from back to front, with their tags and how far they are moved."""

    def walk(one: etree._Element, x: float, y: float) -> Iterator[tuple[etree._Element, str, tuple[float, float]]]:
        if not isinstance(one.tag, str) or one.get("display") == "none":
            return
        tag = etree.QName(one).localname
        if moved := _MOVED.fullmatch(one.get("transform", "")):
            x, y = x + float(moved[1]), y + float(moved[2])
        if tag in ("path", "text", "rect"):
            yield one, tag, (x, y)
        for child in one:
            yield from walk(child, x, y)

    yield from walk(root, 0.0, 0.0)


class _Raster:
    """Which ink lies where, as numbers of inks."""

    def __init__(self, box: tuple[float, ...]) -> None:
        self.left, self.top = box[:2]
        self.inks = ["ground"]
        self.image = Image.new("L", (int(box[2] * FINE) + 1, int(box[3] * FINE) + 1), 0)

    def place(self, x: float, y: float) -> tuple[float, float]:
        """A point of the picture in pixels."""
        return (x - self.left) * FINE, (y - self.top) * FINE

    def paint(self, mask: Image.Image, at: tuple[int, int], ink: str) -> None:
        """Put an ink where a mask, whose upper left corner lies at a pixel, is set."""
        if ink not in self.inks:
            self.inks.append(ink)
        self.image.paste(self.inks.index(ink), (*at, at[0] + mask.width, at[1] + mask.height), mask=mask)

    def under(self, mask: Image.Image, at: tuple[int, int]) -> frozenset[tuple[str, int]]:
        """Inks under a mask, each with the tenths of it."""
        box = (*at, at[0] + mask.width, at[1] + mask.height)
        held = np.asarray(self.image.crop(box))[np.asarray(mask) > 0]
        numbers, counts = np.unique(held, return_counts=True)
        shares = np.round(10 * counts / max(1, counts.sum())).astype(int)
        return frozenset((self.inks[one], int(share)) for one, share in zip(numbers, shares, strict=True) if share)


def _lines_of(
    element: etree._Element, tag: str, moved: tuple[float, float]
) -> list[tuple[list[tuple[float, float]], bool]]:
    """The outlines of an element as points, and whether each is closed."""
    if tag == "path":
        return [
            ([(x + moved[0], y + moved[1]) for x, y in flattened(curve)], curve.closed)
            for curve in _curves(element.get("d", ""))
        ]
    x, y = (float(element.get(name, "0")) + by for name, by in zip("xy", moved, strict=True))
    if tag == "rect":
        wide, high = float(element.get("width", "0")), float(element.get("height", "0"))
    else:  # about where letters lie: half of their width, and the height of small ones
        size, text = float(element.get("font-size", "0")), element.text or ""
        wide, high = 0.5 * size * len(text), 0.5 * size
        x -= {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor", "start"), 0.0) * wide
        y -= high
    return [([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], True)]


def _painted(raster: _Raster, name: str, outline: tuple[list[tuple[float, float]], bool], width: int) -> Meeting:
    """What an outline is drawn on; it is painted, unless its role is that of letters.

    width : of its stroke, pixels.
    """
    role, is_text = drawing_data().roles[name], name.endswith("_text") or name == "comb_number"
    points = [raster.place(*one) for one in outline[0]]
    pad = width + AROUND + 2
    at = (int(min(x for x, _ in points)) - pad, int(min(y for _, y in points)) - pad)
    size = (int(max(x for x, _ in points)) + pad - at[0], int(max(y for _, y in points)) + pad - at[1])
    filled, stroked = Image.new("1", size), Image.new("1", size)
    here = [(x - at[0], y - at[1]) for x, y in points]
    if role.fill:
        ImageDraw.Draw(filled).polygon(here, fill=1)
    if role.stroke:
        ImageDraw.Draw(stroked).line(here + here[:1] * outline[1], fill=1, width=max(1, width))
    whole = ImageChops.logical_or(filled, stroked)
    if is_text:
        return Meeting(name, raster.under(whole, at))
    grown = whole.convert("L").filter(ImageFilter.MaxFilter(2 * AROUND + 1)).convert("1")
    met = raster.under(ImageChops.logical_xor(grown, whole), at)
    for mask, ink in ((filled, role.fill), (stroked, role.stroke)):
        if ink:
            raster.paint(mask, at, ink)
    return Meeting(name, met)


def meetings(svg: str) -> set[Meeting]:
    """What each role of a picture is drawn on: along its edge, and under letters."""
    root = etree.fromstring(svg.encode())
    raster = _Raster(tuple(float(one) for one in root.get("viewBox", "").split()))
    return {
        _painted(raster, str(one.get("class")), outline, round(float(one.get("stroke-width", "0")) * FINE))
        for one, tag, moved in inked(root)
        for outline in _lines_of(one, tag, moved)
    }
