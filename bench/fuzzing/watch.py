"""Watching a call: how much work it does, and which lines of the program it is the first to reach.

Work is counted in calls of Python functions, which are the same on every machine; loops inside of libraries make
none, so a limit of processor time stands behind it (`feeding`).
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import reedpath

ROOT = str(Path(reedpath.__file__).parent)


class TooMuchWork(BaseException):
    """More calls than any honest input of its size takes; not an Exception, so that nothing catches it on the way."""


class Watch:
    """Counts calls, and keeps which lines no input has reached yet.

    most_calls : after which a call is stopped with `TooMuchWork`.
    """

    def __init__(self, most_calls: int) -> None:
        self.most_calls = most_calls
        self.calls = 0
        self._new = 0
        self._left: dict[CodeType, set[int]] = {}

    def run(self, action: Callable[[], Any], *, lines: bool) -> int:
        """Do something; gives how many lines it reached first, 0 where ``lines`` is not asked for."""
        self.calls, self._new = 0, 0
        before = sys.gettrace()
        sys.settrace(self._call_with_lines if lines else self._call)
        try:
            action()
        finally:
            sys.settrace(before)
        return self._new

    @property
    def new_lines(self) -> int:
        """Lines that the last action was the first to reach, also where it ended with an error."""
        return self._new

    def _call(self, _frame: FrameType, _event: str, _value: Any) -> None:
        self.calls += 1
        if self.calls > self.most_calls:
            raise TooMuchWork(f"over {self.most_calls:,} calls")

    def _call_with_lines(self, frame: FrameType, event: str, value: Any) -> Any:
        self._call(frame, event, value)
        code = frame.f_code
        left = self._left.get(code)
        if left is None:
            ours = code.co_filename.startswith(ROOT)
            left = {line for _, _, line in code.co_lines() if line} if ours else set()
            self._left[code] = left
        return self._line if left else None

    def _line(self, frame: FrameType, event: str, _value: Any) -> Any:
        left = self._left[frame.f_code]
        if event == "line" and frame.f_lineno in left:
            left.discard(frame.f_lineno)
            self._new += 1
        return self._line
