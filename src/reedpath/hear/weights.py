"""Weights of clues, read from their files."""

from __future__ import annotations

from functools import cache
from typing import Annotated

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.data import read_toml, shipped_text

# log odds; fitted ones lie within a few tens
Weight = Annotated[float, msgspec.Meta(ge=-100.0, le=100.0)]


@cache
def read_weights(file: str, shape: type[msgspec.Struct], *, room: str = "reedpath.hear") -> npt.NDArray[np.float64]:
    """The weights in a file of a room, in the order of their fields.

    shape : of the file; errors name it, the field and the value.
    """
    read = read_toml(shipped_text(room, file), shape, file=file)
    return np.array(msgspec.structs.astuple(read))
