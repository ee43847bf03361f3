"""Weights of clues, read from their files."""

from __future__ import annotations

from importlib.resources import files
from typing import Annotated

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.data import read_toml

__all__ = ["Weight", "read_weights"]

# log odds; fitted ones lie within a few tens
Weight = Annotated[float, msgspec.Meta(ge=-100.0, le=100.0)]


def read_weights(
    file: str, shape: type[msgspec.Struct], *, room: str = "reedpath.hear", table: str = "weights"
) -> npt.NDArray[np.float64]:
    """The weights in one table of a file of a room, in the order of the table's fields.

    shape : of the file; errors name it, the field and the value.
    """
    text = (files(room) / file).read_text(encoding="utf-8")
    return np.array(msgspec.structs.astuple(getattr(read_toml(text, shape, file=file), table)))
