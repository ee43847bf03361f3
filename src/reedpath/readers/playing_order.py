"""The order of playing: repeats, endings and jumps turned into the bars as they are played.

Rules (common practice, no source, but for the first): a repeat without a start goes back to the end of the
last repeated section or the beginning (ABC 2.1, section 4.8); endings are chosen by how often the section
has been played; after a jump back (da capo, dal segno) repeats are not taken again and the last ending is.
"""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.readers.bars import OrderSigns
from reedpath.readers.limits import Limits

# times that something may be said to be played; more than that is a typing error; ours
MOST_TIMES = 64


def _groups(signs: Sequence[OrderSigns]) -> list[tuple[int, int]]:
    """For each bar the group of endings it stands in (its first bar) and their highest number, 0 outside."""
    groups = [(0, 0)] * len(signs)
    start = 0
    for index in range(1, len(signs) + 1):
        same = index < len(signs) and bool(signs[index].endings) and bool(signs[start].endings)
        again = same and 1 in signs[index].endings and 1 not in signs[index - 1].endings
        if same and not again:
            continue
        highest = max((max(each.endings, default=0) for each in signs[start:index]), default=0)
        groups[start:index] = [(start, highest)] * (index - start)
        start = index
    return groups


class _Playing:
    """Where in the score the player is, and how often the section there has been played."""

    def __init__(self, signs: Sequence[OrderSigns]) -> None:
        self.signs = signs
        self.groups = _groups(signs)
        self.at = 0
        self.start = 0
        self.turn = 1
        self.jumped = False

    def last(self, at: int) -> int:
        """The highest number of the endings that a bar stands among, 0 outside them."""
        return self.groups[at][1]

    def skips(self) -> bool:
        endings = self.signs[self.at].endings
        turn = self.last(self.at) if self.jumped else self.turn
        return bool(endings) and turn not in endings

    def arrive(self) -> None:
        signs = self.signs[self.at]
        after_endings = self.at > 0 and self.last(self.at - 1) and self.groups[self.at] != self.groups[self.at - 1]
        if (signs.starts or after_endings) and self.at != self.start:
            self.start, self.turn = self.at, 1

    def leave(self) -> bool:
        """Go on to the bar that follows in playing; False at the end."""
        signs = self.signs[self.at]
        if self.jumped and signs.fine:
            return False
        if self.jumped and signs.to_coda:
            return self._go_to_coda()
        if signs.times > 1 and not self.jumped:
            if self.turn < max(signs.times, self.last(self.at)):
                self.turn += 1
                self.at = self.start
                return True
            if self.last(self.at) == 0 or self.turn >= self.last(self.at):
                self.start, self.turn = self.at + 1, 1
        if signs.jumps and not self.jumped:
            self.jumped = True
            self.at = self._segno() if signs.dal_segno else 0
            return True
        return self.step()

    def step(self) -> bool:
        self.at += 1
        return self.at < len(self.signs)

    def _segno(self) -> int:
        return next((index for index, signs in enumerate(self.signs[: self.at + 1]) if signs.segno), 0)

    def _go_to_coda(self) -> bool:
        later = range(self.at + 1, len(self.signs))
        self.at = next((index for index in later if self.signs[index].coda), self.at + 1)
        return self.at < len(self.signs)


def playing_order(signs: Sequence[OrderSigns], *, limits: Limits) -> list[int]:
    """Indexes of the bars in the order in which they are played.

    Raises ReadError when that makes more bars than the limits allow.

    >>> first, second = OrderSigns(times=2, endings=frozenset({1})), OrderSigns(endings=frozenset({2}))
    >>> playing_order([OrderSigns(), first, second], limits=Limits())
    [0, 1, 0, 2]
    """
    order: list[int] = []
    playing = _Playing(signs)
    going = bool(signs)
    while going:
        playing.arrive()
        if playing.skips():
            going = playing.step()
            continue
        order.append(playing.at)
        limits.check("bars", len(order), what="bars-with-repeats")
        going = playing.leave()
    return order
