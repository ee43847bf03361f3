"""Writing shapes as SVG 1.1: plain elements and presentation attributes, so that every renderer agrees."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from reedpath.page.drawing.drawing_data import baseline_of
from reedpath.page.drawing.palette import Palette
from reedpath.page.drawing.shapes import CombHole, Curve, Label, Shape

# generic sans-serif faces first found; the widths kept for text are those of the widest
FONTS = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"


def number(value: float) -> str:
    """A coordinate with at most two decimals.

    >>> number(2.5), number(-0.001), number(3.14159)
    ('2.5', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _run_of(shape: Shape) -> tuple[str, bool]:
    """Role of a shape, and whether it is a mere line that can be written with its neighbours."""
    return shape.role, isinstance(shape, Curve) and not shape.closed


@dataclass(frozen=True, slots=True)
class SvgWriter:
    """Writes shapes in an ink and at a size.

    palette : the inks.
    row_px : SVG user units to a row.
    """

    palette: Palette
    row_px: float

    def group(self, name: str, y: float, shapes: Iterable[Shape]) -> str:
        """Shapes in a group of their own, so many rows down."""
        return f'<g class="{name}" transform="translate(0 {self.length(y)})">\n{self.shapes(shapes)}\n</g>'

    def holes(self, holes: Iterable[CombHole]) -> str:
        """Holes of a comb, a group with ``data-hole`` for each."""
        return "\n".join(
            f'<g class="hole" data-hole="{one.hole}">{self.shapes((one.box, one.number))}</g>' for one in holes
        )

    def length(self, rows: float) -> str:
        """A length in user units."""
        return number(rows * self.row_px)

    def _point(self, point: tuple[float, float]) -> str:
        return f"{self.length(point[0])} {self.length(point[1])}"

    def path_data(self, curve: Curve) -> str:
        """The d attribute of a curve."""
        parts = [f"M{self._point(curve.start)}"]
        for piece in curve.pieces:
            parts.append(("L" if len(piece) == 1 else "C") + " ".join(self._point(point) for point in piece))
        return "".join(parts) + ("Z" if curve.closed else "")

    def _ink(self, role: str) -> str:
        style = self.palette.style(role)
        ink = f' fill="{style.fill or "none"}"'
        if style.stroke:
            ink += f' stroke="{style.stroke}" stroke-width="{self.length(style.width)}"'
            if style.dash:
                dashes = " ".join(self.length(part) for part in style.dash)
                ink += f' stroke-dasharray="{dashes}"'
        return ink

    def shape(self, shape: Shape) -> str:
        """One element."""
        return self._text(shape) if isinstance(shape, Label) else self._path((shape,))

    def _path(self, curves: Sequence[Curve]) -> str:
        """Curves of one role as one element."""
        role = curves[0].role
        data = "".join(self.path_data(curve) for curve in curves)
        return f'<path class="{role}" d="{data}"{self._ink(role)}/>'

    def _text(self, label: Label) -> str:
        style = self.palette.style(label.role)
        weight = ' font-weight="bold"' if style.bold else ""
        anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
        return (
            f'<text class="{label.role}" x="{self.length(label.x)}" y="{self.length(baseline_of(label))}" '
            f'font-size="{self.length(label.size)}"{anchor}{weight} fill="{style.fill}">'
            f"{escape(label.text)}</text>"
        )

    def shapes(self, shapes: Iterable[Shape]) -> str:
        """Elements, one to a line; lines of one role that follow one another make one element."""
        written = []
        for (_, lines), run in groupby(shapes, key=_run_of):
            if lines:
                written.append(self._path([shape for shape in run if isinstance(shape, Curve)]))
            else:
                written += [self.shape(shape) for shape in run]
        return "\n".join(written)

    def picture(
        self,
        body: str,
        *,
        width: float,
        height: float,
        title: str,
        description: str,
        role: str = "img",
        cut: tuple[float, float] | None = None,
    ) -> str:
        """A whole SVG file around elements; width and height in rows.

        cut : rows from which and up to which it is shown; the whole of it for None.
        """
        w, h = (number(math.ceil(rows * self.row_px)) for rows in (width, height))
        ground = self.palette.style("ground").fill
        top, shown = "0", h
        if cut is not None:
            first, last = (float(h if row == height else self.length(row)) for row in cut)
            top, shown = f"{first:g}", f"{last - first:.2f}"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{shown}" viewBox="0 {top} {w} {shown}" '
            f"role={quoteattr(role)} aria-label={quoteattr(title)} font-family={quoteattr(FONTS)} "
            'stroke-linejoin="round">\n'
            f"<title>{escape(title)}</title>\n<desc>{escape(description)}</desc>\n"
            f'<rect class="ground" width="{w}" height="{h}" fill="{ground}"/>\n{body}\n</svg>\n'
        )
