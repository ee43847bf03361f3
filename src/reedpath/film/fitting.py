"""Pictures of another shape than the frame: whole, as large as they can be, in the middle, on black."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from reedpath.film.encode import video_frame
from reedpath.film.planes import planes_in
from reedpath.film.screens import Zone

# light of black in the narrow range, and what no colour is (ITU-R BT.709)
BLACK, NO_COLOUR = 16, 128


def fitted_zone(width: int, height: int, zone: Zone) -> Zone:
    """Where a picture of that shape stands in a zone, as large as it can."""
    scale = min(zone.width / width, zone.height / height)
    across, down = (max(2, round(length * scale / 2) * 2) for length in (width, height))
    left = zone.left + (zone.width - across) // 4 * 2
    top = zone.top + (zone.height - down) // 4 * 2
    return Zone(left, top, left + across, top + down)


def black_frame(width: int, height: int) -> Any:
    """A black picture, as a frame of av (yuv420p)."""
    array: npt.NDArray[np.uint8] = np.full((height * 3 // 2, width), NO_COLOUR, dtype=np.uint8)
    array[:height] = BLACK
    return video_frame(array)


def on_black(picture: Any, zone: Zone, width: int, height: int) -> Any:
    """A frame of av (yuv420p) as large as a zone, there in a black one of that width and height."""
    frame = black_frame(width, height)
    for share, (plane, drawn) in enumerate(zip(planes_in(frame), planes_in(picture), strict=True)):
        half = 2 if share else 1
        plane[zone.top // half : zone.bottom // half, zone.left // half : zone.right // half] = drawn
    return frame
