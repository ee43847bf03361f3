"""Small networks: log odds from clues, by one layer of hidden units beside the plain weighted sum.

They were fitted on invented records, by the clues of bench/hear_record_fit.py and banks of the development half; the
numbers are in networks.json.
"""

from __future__ import annotations

from functools import cache

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.data import shipped_folder

Float64 = npt.NDArray[np.float64]
_FILE = "networks.json"


class Network(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The weights of one network.

    clues : names of the inputs, in order.
    inner : weights of each input for each hidden unit, inputs by units. inner_bias : of each unit.
    outer : weight of each unit's hyperbolic tangent. direct : weight of each input in the plain sum. bias : of all.
    """

    clues: tuple[str, ...]
    inner: tuple[tuple[float, ...], ...]
    inner_bias: tuple[float, ...]
    outer: tuple[float, ...]
    direct: tuple[float, ...]
    bias: float

    def __post_init__(self) -> None:
        units = len(self.inner_bias)
        fits = len(self.inner) == len(self.direct) == len(self.clues) and len(self.outer) == units
        if not fits or any(len(row) != units for row in self.inner):
            raise ValueError("the parts of the network do not fit each other")

    def log_odds(self, clues: npt.NDArray[np.floating]) -> Float64:
        """Log odds of each row of clues; shape (..., clues) to (...)."""
        rows = clues.astype(np.float64)
        hidden = np.tanh(rows @ np.array(self.inner) + np.array(self.inner_bias))
        return np.asarray(hidden @ np.array(self.outer) + rows @ np.array(self.direct) + self.bias)


@cache
def _networks() -> dict[str, Network]:
    return msgspec.json.decode((shipped_folder("reedpath.hear.lead") / _FILE).read_bytes(), type=dict[str, Network])


def network(name: str) -> Network:
    """The network of a name of the file."""
    return _networks()[name]
