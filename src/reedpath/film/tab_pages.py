"""Tab pages: the moves of a stretch in rows, for the room in which nothing is said at the moment.

Each part begins a row. A page stays as it is while its moves are played: what one has read ahead is where it was.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

# rows of a page, each from one place among the moves up to another
TabPage = tuple[tuple[int, int], ...]


def _rows(widths: Sequence[float], first: int, stop: int, room: float) -> Iterator[tuple[int, int]]:
    """Moves from one place up to another in rows that are full."""
    begin, filled = first, 0.0
    for place in range(first, stop):
        if place > begin and filled + widths[place] > room:
            yield begin, place
            begin, filled = place, 0.0
        filled += widths[place]
    if begin < stop:
        yield begin, stop


def tab_pages(widths: Sequence[float], begins: Collection[int], *, room: float, rows: int) -> tuple[TabPage, ...]:
    """Moves on pages of at most so many rows.

    widths : of each move's sign, in the unit of ``room``.
    begins : places at which parts begin.
    room : width of a row.

    >>> tab_pages([1.0] * 7, [0, 3], room=4.0, rows=2)
    (((0, 3), (3, 7)),)
    """
    pages: list[list[tuple[int, int]]] = []
    for first, stop in pairwise(sorted({0, *begins, len(widths)})):
        for row in _rows(widths, first, stop, room):
            if not pages or len(pages[-1]) == rows:
                pages.append([])
            pages[-1].append(row)
    return tuple(tuple(page) for page in pages)


def tab_page_at(pages: Sequence[TabPage], place: int) -> TabPage:
    """The page on which a move stands; the first for one before all."""
    firsts = [page[0][0] for page in pages]
    return pages[max(0, bisect_right(firsts, place) - 1)] if pages else ()
