"""Laying a strip over a picture: a plate that lets the picture through, and ink that does not."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.film.planes import Bytes, Coding, Frame, Planes, plain_planes
from reedpath.film.screens import Zone

__all__ = ["PLATE_OPACITY", "Plate"]

# how much the plate covers of the picture, 0 to 1: text on it keeps 4.5:1 against a white picture (WCAG 2.2, 1.4.3;
# held by a test)
PLATE_OPACITY = 0.8


# 256 parts; how much of the picture comes through
_THROUGH = round(256 * (1.0 - PLATE_OPACITY))


class Plate:
    """A zone of a frame that is laid over pictures.

    zone : where.
    ground : the colour of the plate, "#rrggbb"; what has another colour is ink.
    """

    def __init__(self, zone: Zone, ground: str, coding: Coding) -> None:
        self.zone = zone
        colour = plain_planes(ground, coding)
        self._ground = tuple(int(plane[0, 0]) for plane in (colour.light, colour.blue, colour.red))

    def _cut(self, picture: Planes | Frame) -> Planes:
        zone = self.zone
        rows, columns = slice(zone.top // 2, zone.bottom // 2), slice(zone.left // 2, zone.right // 2)
        return Planes(
            picture.light[zone.top : zone.bottom, zone.left : zone.right],
            picture.blue[rows, columns],
            picture.red[rows, columns],
        )

    def _bare(self, strip: Planes) -> Bytes:
        """255 where the plate is bare and 0 where it is inked, for light."""
        return _whole(strip.light == self._ground[0])

    def lay(self, drawn: Planes | Frame, picture: Planes | Frame) -> None:
        """Lay what is drawn over a picture of the same size; the picture is written on."""
        strip, under = self._cut(drawn), self._cut(picture)
        bare = self._bare(strip)
        bare_colour = _bare_in_fours(bare)
        for plane, below, mask, ground in (
            (strip.light, under.light, bare, self._ground[0]),
            (strip.blue, under.blue, bare_colour, self._ground[1]),
            (strip.red, under.red, bare_colour, self._ground[2]),
        ):
            below[:] = (_let_through(below, ground) & mask) | (plane & ~mask)

    def opacity(self, drawn: Planes | Frame) -> Bytes:
        """How much of a picture each pixel of the zone covers, 0 to 255, shape (height, width) of the zone."""
        bare = self._bare(self._cut(drawn))
        return (bare & np.uint8(round(255 * PLATE_OPACITY))) | ~bare


def _whole(truth: npt.NDArray[np.bool_]) -> Bytes:
    """255 for true and 0 for false."""
    whole: Bytes = np.negative(truth.view(np.uint8))
    return whole


def _bare_in_fours(bare: Bytes) -> Bytes:
    """The same for colour, which is bare where none of its four pixels is inked."""
    return _whole((bare[0::2] & bare[1::2]).view(np.uint16) == 0xFFFF)


def _let_through(below: Bytes, ground: int) -> Bytes:
    """What is seen through the plate; in whole numbers, which take a tenth of the time of looking them up."""
    seen = below * np.uint16(_THROUGH)
    seen += np.uint16((256 - _THROUGH) * ground + 128)
    seen >>= 8
    return seen.astype(np.uint8)
