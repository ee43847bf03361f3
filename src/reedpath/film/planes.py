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

if TYPE_CHECKING:
    from PIL import Image

__all__ = [
    "BT601",
    "BT709",
    "Bytes",
    "Coding",
    "Frame",
    "Planes",
    "faded",
    "plain_planes",
    "planes_in",
    "planes_of",
    "planes_of_both",
]

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
