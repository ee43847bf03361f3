"""Laying a strip over a picture: a plate that lets the picture through, and ink that does not."""

from __future__ import annotations

import numpy as np

from reedpath.film.planes import Bytes, Coding, Frame, Planes, plain_planes
from reedpath.film.screens import Zone

__all__ = ["PLATE_OPACITY", "Plate"]

# how much the plate covers of the picture, 0 to 1: text on it keeps 4.5:1 against a white picture (WCAG 2.2, 1.4.3;
# held by a test)
PLATE_OPACITY = 0.8


class Plate:
    """A zone of a frame that is laid over pictures.

    zone : where.
    ground : the colour of the plate, "#rrggbb"; what has another colour is ink.
    """

    def __init__(self, zone: Zone, ground: str, coding: Coding) -> None:
        self.zone = zone
        colour = plain_planes(ground, coding)
        self._ground = tuple(int(plane[0, 0]) for plane in (colour.light, colour.blue, colour.red))
        shown = np.arange(256, dtype=np.float64)
        self._through = tuple(
            np.rint(ground + (1.0 - PLATE_OPACITY) * (shown - ground)).astype(np.uint8) for ground in self._ground
        )

    def _cut(self, frame: Frame) -> Planes:
        zone = self.zone
        rows, columns = slice(zone.top // 2, zone.bottom // 2), slice(zone.left // 2, zone.right // 2)
        return Planes(
            frame.light[zone.top : zone.bottom, zone.left : zone.right],
            frame.blue[rows, columns],
            frame.red[rows, columns],
        )

    def _plain(self, strip: Planes) -> tuple[Bytes, Bytes]:
        """Where the plate is bare, for light and for colour: a colour is bare where none of its pixels is inked."""
        bare = strip.light == self._ground[0]
        height, width = bare.shape
        pairs = bare.reshape(height // 2, 2, width // 2, 2)
        return bare, pairs.all(axis=(1, 3))

    def lay(self, drawn: Frame, picture: Frame) -> None:
        """Lay what is drawn over a picture of the same size."""
        strip, under = self._cut(drawn), self._cut(picture)
        bare, bare_colour = self._plain(strip)
        for plane, below, mask, table in (
            (strip.light, under.light, bare, self._through[0]),
            (strip.blue, under.blue, bare_colour, self._through[1]),
            (strip.red, under.red, bare_colour, self._through[2]),
        ):
            below[:] = np.where(mask, table[below], plane)

    def opacity(self, drawn: Frame) -> Bytes:
        """How much of a picture each pixel of the frame covers, 0 to 255, shape (height, width)."""
        opacity = np.zeros(drawn.light.shape, dtype=np.uint8)
        zone, strip = self.zone, self._cut(drawn)
        bare, _ = self._plain(strip)
        opacity[zone.top : zone.bottom, zone.left : zone.right] = np.where(bare, round(255 * PLATE_OPACITY), 255)
        return opacity
