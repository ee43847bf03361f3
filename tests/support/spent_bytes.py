"""Choices made from one string of bytes that Hypothesis draws.

A strategy of many small draws spends most of its time on the draws. Here Hypothesis draws one string of bytes, and
what is built takes its choices from it one after another; when the bytes are spent, the first option is taken each
time. So a failure still shrinks, towards noughts, which are the first options.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from hypothesis import strategies as st

__all__ = ["SpentBytes", "built_from_bytes", "many_from_bytes"]

Built = TypeVar("Built")
Option = TypeVar("Option")
Text = TypeVar("Text", str, bytes)

# numbers at the edges of what a float is asked for, as shares of the way from the least to the most
_SHARES = (0.0, 1.0, 0.5, 1 / 3, 0.999, 1e-9)

# signs that readers of text stumble over: what ends a line, joins, turns the writing round, or is a digit elsewhere
_ODD_SIGNS = tuple(map(ord, "\0\t\n\r\x1b\x85\xa0\u2028\u202e\ufeff\u0301٣½²ßİ\ud800"))


class SpentBytes:
    """Bytes that are spent on choices."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0

    def _number(self, size: int) -> int:
        taken = self._data[self._at : self._at + size]
        self._at += size
        return int.from_bytes(taken, "big")

    def whole(self, least: int, most: int) -> int:
        """A whole number, both ends included."""
        span = most - least + 1
        return least + self._number(1 if span <= 256 else 4) % span

    def pick(self, options: Sequence[Option]) -> Option:
        """One of the options."""
        return options[self.whole(0, len(options) - 1)]

    def yes(self, one_in: int = 2) -> bool:
        """True once in so many times; False when the bytes are spent."""
        return self._number(1) % one_in == one_in - 1

    def real(self, least: float, most: float) -> float:
        """A number, the ends and some awkward ones more often than others."""
        share = self.whole(0, 31)
        return least + (most - least) * (_SHARES[share] if share < len(_SHARES) else self._number(4) / 2**32)

    def picks(self, options: Sequence[Option], *, least: int = 0, most: int) -> list[Option]:
        """Some of the options, each as often as it is picked."""
        return [self.pick(options) for _ in range(self.whole(least, most))]

    def some(self, options: Sequence[Option], *, most: int) -> list[Option]:
        """A few of the options, none twice."""
        return list(dict.fromkeys(self.picks(options, most=most)))

    def raw(self, most: int) -> bytes:
        """Bytes as they are, so many at most."""
        return bytes(self.whole(0, 255) for _ in range(self.whole(0, most)))

    def spliced(self, data: Text, inserted: Text, *, dropped: int, start: int = 0) -> Text:
        """Text or bytes with something put in at a place from ``start`` on, and so many at most dropped there."""
        at = self.whole(start, len(data))
        return data[:at] + inserted + data[at + self.whole(0, dropped) :]

    def text(self, most: int) -> str:
        """Signs, so many at most: printable ones of ASCII more often than any others, surrogates among them."""
        return "".join(
            chr(self.pick(_ODD_SIGNS) if kind == 3 else self.whole(32, 126) if kind < 3 else self.whole(0, 0x10FFFF))
            for kind in (self.whole(0, 4) for _ in range(self.whole(0, most)))
        )


def built_from_bytes(build: Callable[[SpentBytes], Built], *, size: int) -> st.SearchStrategy[Built]:
    """What is built of so many drawn bytes."""
    return st.binary(min_size=size, max_size=size).map(lambda data: build(SpentBytes(data)))


def many_from_bytes(
    build: Callable[[SpentBytes], Built], *, size: int, count: int = 10
) -> st.SearchStrategy[list[Built]]:
    """So many things, each built of so many drawn bytes.

    What Hypothesis itself does for an example then costs once for all of them. All are checked by one test, which
    names the one that fails by its traceback; shrinking makes the others as plain as they can be.
    """

    def built(data: bytes) -> list[Built]:
        return [build(SpentBytes(data[at : at + size])) for at in range(0, size * count, size)]

    return st.binary(min_size=size * count, max_size=size * count).map(built)
