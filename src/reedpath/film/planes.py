"""Planes: pictures as light and colour, the way films keep them.

A frame is one array of bytes, shape (height * 3 / 2, width): the light of every pixel, then two planes of colour
for every second pixel of every second line (4:2:0). From red, green and blue they are made as ITU-R BT.709
and BT.601 say, in the narrow range (16 to 235).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import numpy.typing as npt

from reedpath.film.screens import Zone

if TYPE_CHECKING:
    from PIL import Image

Bytes: TypeAlias = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Coding:
    """How light and colour are made of red, green and blue.

    red, blue : their shares of the light (ITU-R BT.709-6 and BT.601-7, table 3 and section 2.5.1).
    """

    red: float
    blue: float


BT709 = Coding(0.2126, 0.0722)
BT601 = Coding(0.299, 0.114)


@dataclass(frozen=True, slots=True, eq=False)
class Planes:
    """A picture of even width and height.

    light : shape (height, width).
    blue, red : shape (height / 2, width / 2), 128 where there is no colour.
    """

    light: Bytes
    blue: Bytes
    red: Bytes


def planes_in(picture: Any) -> tuple[Bytes, ...]:
    """The planes of a picture of av (yuv420p and the like) where they lie; to write there is to draw on it."""
    return tuple(
        np.frombuffer(plane, dtype=np.uint8).reshape(-1, plane.line_size)[: plane.height, : plane.width]
        for plane in picture.planes
    )


def _mixed(picture: Image.Image, coding: Coding) -> Image.Image:
    """The picture with light, blueness and redness in place of red, green and blue."""
    light_scale, colour_scale = 219.0 / 255.0, 224.0 / 255.0
    light = np.array([coding.red, 1.0 - coding.red - coding.blue, coding.blue])
    blue = (np.array([0.0, 0.0, 1.0]) - light) / (2.0 * (1.0 - coding.blue)) * colour_scale
    red = (np.array([1.0, 0.0, 0.0]) - light) / (2.0 * (1.0 - coding.red)) * colour_scale
    return picture.convert("RGB", (*(light * light_scale), 16.0, *blue, 128.0, *red, 128.0))


def planes_of(picture: Image.Image, coding: Coding = BT709) -> Planes:
    """The planes of a picture of red, green and blue, of even width and height."""
    mixed = _mixed(picture, coding)
    colours = np.asarray(mixed.reduce(2))
    return Planes(np.asarray(mixed.getchannel(0)), colours[..., 1], colours[..., 2])


def planes_of_both(picture: Image.Image, coding: Coding = BT709) -> tuple[Planes, Planes]:
    """The planes of a picture two pixels wider than wanted: from its first pixel on, and from its second."""
    mixed = _mixed(picture, coding)
    width, height = picture.size
    light = np.asarray(mixed.getchannel(0))
    pair = []
    for start in (0, 1):
        colours = np.asarray(mixed.reduce(2, (start, 0, start + width - 2, height)))
        pair.append(Planes(light[:, start : start + width - 2], colours[..., 1].copy(), colours[..., 2].copy()))
    return pair[0], pair[1]


def plain_planes(colour: str, coding: Coding = BT709) -> Planes:
    """Two by two pixels of a colour "#rrggbb"."""
    from PIL import Image

    return planes_of(Image.new("RGB", (2, 2), colour), coding)


def _toward(plane: Bytes, ground: int, contrast: float) -> Bytes:
    table: Bytes = np.rint(ground + contrast * (np.arange(256) - float(ground))).astype(np.uint8)
    return np.asarray(table[plane])


def faded(picture: Planes, ground: Planes, contrast: float) -> Planes:
    """The picture with that share of its contrast against a ground, whose first pixel counts."""
    return Planes(
        _toward(picture.light, int(ground.light[0, 0]), contrast),
        _toward(picture.blue, int(ground.blue[0, 0]), contrast),
        _toward(picture.red, int(ground.red[0, 0]), contrast),
    )


class Frame:
    """A frame to draw on; ``array`` is its bytes, and the three planes are views of it.

    array : bytes to take over, shape (height * 3 / 2, width); new ones when left out.
    """

    def __init__(self, width: int, height: int, array: Bytes | None = None) -> None:
        self.array: Bytes = np.empty((height * 3 // 2, width), dtype=np.uint8) if array is None else array
        self.light: Bytes = self.array[:height]
        quarter = height // 4 * width + (height % 4) // 2 * (width // 2)
        colours = self.array[height:].reshape(-1)
        self.blue: Bytes = colours[:quarter].reshape(height // 2, width // 2)
        self.red: Bytes = colours[quarter:].reshape(height // 2, width // 2)

    @property
    def planes(self) -> Planes:
        """The frame as a picture; no copy."""
        return Planes(self.light, self.blue, self.red)

    def fill(self, colour: Planes) -> None:
        """Fill the frame with the colour of a picture's first pixel."""
        self.light[:], self.blue[:], self.red[:] = colour.light[0, 0], colour.blue[0, 0], colour.red[0, 0]

    def put(self, picture: Planes, left: int, top: int) -> None:
        """Put a picture at an even place."""
        height, width = picture.light.shape
        self.light[top : top + height, left : left + width] = picture.light
        rows, columns = slice(top // 2, (top + height) // 2), slice(left // 2, (left + width) // 2)
        self.blue[rows, columns] = picture.blue
        self.red[rows, columns] = picture.red


# how much the plate covers of the picture, 0 to 1: text on it keeps 4.5:1 against a white picture (WCAG 2.2, 1.4.3;
# held by a test)
PLATE_OPACITY = 0.8


# 256 parts; how much of the picture comes through
_THROUGH = round(256 * (1.0 - PLATE_OPACITY))


class Plate:
    """A zone of a frame that is laid over pictures: its ground lets them through, its ink does not.

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
