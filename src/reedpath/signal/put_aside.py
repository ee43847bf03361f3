"""A sound put aside: written to a file without a name as it is first gone through, and read from there again.

A long sound has to be gone through more than once before its beginning can be given out (its loudness is known at its
end only), is too large for the memory of a small computer, and costs more to make than to read.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from types import TracebackType
from typing import IO, Self

import numpy as np

from reedpath.signal.samples import Samples

# where temporary files lie that are not kept in memory (Filesystem Hierarchy Standard 3.0, section 5.15)
ON_DISK = "/var/tmp"


def _folder() -> str | None:
    """Where the file is to lie; None for where the system or the user says."""
    if "TMPDIR" in os.environ or not os.access(ON_DISK, os.W_OK):
        return None
    return ON_DISK


class SoundAside:
    """The blocks of a sound, made when they are first asked for and read from a file whenever they are again.

    Where there is no room for the file, they are made again. The file has no name, so that nothing of it is left
    however the program ends.

    blocks : makes the sound, the same each time; all blocks of one rate and one number of channels.
    """

    def __init__(self, blocks: Callable[[], Iterator[Samples]]) -> None:
        self._blocks = blocks
        self._file: IO[bytes] | None = None
        # frames of each block
        self._frames: list[int] = []
        self._kind = (0, 0)
        self._whole = False

    def __call__(self) -> Iterator[Samples]:
        """The sound from its beginning, block by block."""
        return self._read() if self._whole else self._made()

    def _made(self) -> Iterator[Samples]:
        self.close()
        with suppress(OSError):
            self._file = tempfile.TemporaryFile(dir=_folder())  # noqa: SIM115 - it lies there until `close`
        for block in self._blocks():
            self._keep(block)
            yield block
        self._whole = self._file is not None

    def _keep(self, block: Samples) -> None:
        if self._file is None:
            return
        try:
            self._file.write(np.ascontiguousarray(block.array.T).data)  # one channel after the other
            self._file.flush()
        except OSError:  # no room
            self.close()
            return
        self._frames.append(block.frames)
        self._kind = (block.rate, block.channels)

    def _read(self) -> Iterator[Samples]:
        assert self._file is not None
        self._file.seek(0)
        rate, channels = self._kind
        for frames in self._frames:
            array = np.empty((channels, frames), dtype=np.float32)
            if self._file.readinto(array.data.cast("B")) != array.nbytes:  # type: ignore[attr-defined]
                raise OSError("a sound that was put aside has been cut off")
            yield Samples(array.T, rate)

    def close(self) -> None:
        """Let the file go; the sound is made again where it is asked for."""
        file, self._file = self._file, None
        self._frames, self._whole = [], False
        if file is not None:
            with suppress(OSError):  # what was not written yet finds no room
                file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
