"""A kind of input."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from fuzzing.mutation import Change


@dataclass(frozen=True)
class Target:
    """A kind of input.

    seeds : what to begin with.
    changes : how inputs are changed.
    read : takes an input; gives what was read, or raises an error of ours.
    follow : what is done with what was read, and with the input, for a share of the inputs.
    tokens : pieces that mean something to the reader.
    mended : what is put right in a changed input, so that it comes past the first check, for half of the inputs.
    share : of the inputs that are read, how many are followed.
    slow : whether one input takes a tenth of a second or so.
    """

    name: str
    seeds: Callable[[], Sequence[bytes]]
    changes: Sequence[Change]
    read: Callable[[bytes], Any]
    follow: Callable[[Any, bytes, random.Random], None]
    tokens: Sequence[bytes] = ()
    mended: Callable[[bytes], bytes] | None = None
    share: float = 0.02
    slow: bool = False
