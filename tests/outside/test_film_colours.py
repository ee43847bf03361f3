"""Light and colour of films against the bars of the standards, and against ffmpeg's scaler.

The bars of full colour in eight bits, from ITU-R BT.709 and BT.601 with BT.1361's rounding, are printed in many
engineers' handbooks; remembered, from memory. The second judge is libswscale, through av.
"""

from __future__ import annotations

import av
import numpy as np
import pytest
from PIL import Image

from reedpath.film.planes import BT601, BT709, Coding, planes_of

pytestmark = pytest.mark.outside

BARS = {
    "#ffffff": ((235, 128, 128), (235, 128, 128)),
    "#ffff00": ((219, 16, 138), (210, 16, 146)),
    "#00ffff": ((188, 154, 16), (170, 166, 16)),
    "#00ff00": ((173, 42, 26), (145, 54, 34)),
    "#ff00ff": ((78, 214, 230), (106, 202, 222)),
    "#ff0000": ((63, 102, 240), (81, 90, 240)),
    "#0000ff": ((32, 240, 118), (41, 240, 110)),
    "#000000": ((16, 128, 128), (16, 128, 128)),
}


@pytest.mark.parametrize("colour", sorted(BARS))
@pytest.mark.parametrize(("coding", "column"), [(BT709, 0), (BT601, 1)])
def test_bars(colour: str, coding: Coding, column: int) -> None:
    planes = planes_of(Image.new("RGB", (8, 8), colour), coding)
    found = [set(plane.ravel()) for plane in (planes.light, planes.blue, planes.red)]
    wanted = BARS[colour][column]
    assert all(abs(int(value) - want) <= 1 for values, want in zip(found, wanted, strict=True) for value in values)


@pytest.mark.parametrize(("coding", "number"), [(BT709, 1), (BT601, 5)])
def test_another_converter(coding: Coding, number: int) -> None:
    random = np.random.default_rng(5)
    smooth = Image.fromarray(random.integers(0, 256, (12, 16, 3)).astype(np.uint8)).resize((128, 96), Image.BICUBIC)
    ours = planes_of(smooth, coding)
    frame = av.VideoFrame.from_ndarray(np.asarray(smooth), format="rgb24")
    theirs = frame.reformat(
        format="yuv420p", dst_colorspace=number, src_color_range=2, dst_color_range=1, interpolation="AREA"
    ).to_ndarray()
    light, colours = theirs[:96], theirs[96:].reshape(2, 48, 64)
    assert np.abs(ours.light.astype(int) - light).max() <= 2
    for mine, other in zip((ours.blue, ours.red), colours, strict=True):
        assert np.abs(mine.astype(int) - other).mean() < 1.0
