"""The picture line: pictures encoded in a thread of their own, while the next ones are drawn.

The encoder is the slowest part and lets other threads run, so it works beside the thread that draws.
"""

from __future__ import annotations

from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType
from typing import Any, Self

__all__ = ["PictureLine"]

# pictures that may wait to be encoded; more would only take memory
WAITING = 3


class PictureLine:
    """Encodes the pictures of a stream in order and puts them into their container.

    To be used in a ``with`` statement once all streams of the container are there; on leaving it without an error
    the last pictures are encoded.
    """

    def __init__(self, container: Any, stream: Any) -> None:
        self._container, self._stream = container, stream
        self._waiting: deque[Future[Any]] = deque()
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="picture")
        # the streams are opened here and now, for two threads may not open one container
        container.start_encoding()

    def put(self, frame: Any) -> None:
        """Hand a picture on to be encoded."""
        self._waiting.append(self._worker.submit(self._stream.encode, frame))
        while len(self._waiting) > WAITING:
            self._store()

    def _store(self) -> None:
        for packet in self._waiting.popleft().result():
            self._container.mux(packet)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._waiting.append(self._worker.submit(self._stream.encode, None))
                while self._waiting:
                    self._store()
        finally:
            self._worker.shutdown(wait=True, cancel_futures=True)
