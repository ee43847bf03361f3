"""Repeats: stretches of a route that come again, move for move and in the same rhythm.

Method: a suffix array (Manber & Myers 1993, by doubling) with its longest common prefixes (Kasai et al. 2001);
the intervals of the latter are the repeats (Abouelhoda, Kurtz & Ohlebusch 2004), and those that no event more on
either side would keep are the maximal repeats (Gusfield 1997). All from memory.

Ours differs in the alphabet: notes and the silences between them take turns, so that a repeat begins and ends
with a note, and the silence that follows it may be another.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from msgspec.structs import replace

from reedpath.arrange import RouteEvent

# events of a figure that is said once and then only again; common practice, no source
FIGURE_SIZES = range(2, 7)


@dataclass(frozen=True, slots=True)
class Repeated:
    """A stretch that comes more than once; its places may overlap.

    starts : indexes of the first event at each place, ascending.
    length : number of events.
    """

    starts: tuple[int, ...]
    length: int


def _signature(event: RouteEvent) -> Hashable:
    """What must be equal for two events to be the same to a player: the move, its ornaments and its length."""
    choice, ornaments = event.choice, event.event.ornaments
    kinds = tuple(change.kind for change in choice.changes)
    plain = replace(choice, changes=())
    return plain, kinds, event.event.duration, ornaments.vibrato, ornaments.accent, event.event.grace


def tokens_of(events: Sequence[RouteEvent]) -> tuple[int, ...]:
    """Notes and the silences between them in turns, as numbers: equal numbers are equal things."""
    notes = [_signature(event) for event in events]
    gaps = [after.event.onset - before.event.end for before, after in pairwise(events)]
    note_rank = {note: 2 * rank for rank, note in enumerate(dict.fromkeys(notes))}
    gap_rank = {gap: 2 * rank + 1 for rank, gap in enumerate(dict.fromkeys(gaps))}
    tokens = [0] * max(0, 2 * len(notes) - 1)
    tokens[::2] = [note_rank[note] for note in notes]
    tokens[1::2] = [gap_rank[gap] for gap in gaps]
    return tuple(tokens)


def suffix_order(tokens: Sequence[int]) -> list[int]:
    """Suffix array: starts of all suffixes, in lexical order.

    >>> suffix_order([2, 1, 2, 1])
    [3, 1, 2, 0]
    """
    size, rank, span = len(tokens), list(tokens), 1
    order = sorted(range(size), key=rank.__getitem__)
    while size > 1:
        keys = [(rank[i], rank[i + span] if i + span < size else -1) for i in range(size)]
        order.sort(key=keys.__getitem__)
        rank[order[0]] = 0
        for before, now in pairwise(order):
            rank[now] = rank[before] + (keys[now] != keys[before])
        if rank[order[-1]] == size - 1:
            break
        span *= 2
    return order


def _common_prefixes(tokens: Sequence[int], order: Sequence[int]) -> list[int]:
    """Length of what each suffix shares with the one before it in order; 0 for the first."""
    size = len(tokens)
    rank = [0] * size
    for place, start in enumerate(order):
        rank[start] = place
    shared, run = [0] * size, 0
    for start in range(size):
        if rank[start] == 0:
            run = 0
            continue
        other = order[rank[start] - 1]
        while max(start, other) + run < size and tokens[start + run] == tokens[other + run]:
            run += 1
        shared[rank[start]] = run
        run = max(0, run - 1)
    return shared


def _shared_events(tokens: Sequence[int], most: int | None) -> tuple[list[int], list[int]]:
    """Events in lexical order, and how many events each shares with the one before."""
    order = suffix_order(tokens)
    starts: list[int] = []
    shared: list[int] = []
    least = 0
    for start, common in zip(order, _common_prefixes(tokens, order), strict=True):
        least = min(least, common)
        if start % 2 == 0:
            events = (least + 1) // 2
            starts.append(start // 2)
            shared.append(events if most is None else min(events, most))
            least = len(tokens)
    return starts, shared


def _intervals(starts: Sequence[int], shared: Sequence[int]) -> list[Repeated]:
    """All repeats: for each length shared by neighbours in order, the places that share it."""
    found: list[Repeated] = []
    stack: list[tuple[int, int]] = []  # length, first place in order
    for place in range(1, len(starts) + 1):
        length = shared[place] if place < len(starts) else 0
        first = place - 1
        while stack and stack[-1][0] > length:
            top, first = stack.pop()
            found.append(Repeated(tuple(sorted(starts[first:place])), top))
        if length > 0 and (not stack or stack[-1][0] < length):
            stack.append((length, first))
    return found


def maximal_repeats(tokens: Sequence[int], *, least: int = 1) -> tuple[Repeated, ...]:
    """Repeats of at least so many events that cannot be made longer on either side, the longest first."""
    starts, shared = _shared_events(tokens, None)

    def grows_left(repeat: Repeated) -> bool:
        if repeat.starts[0] == 0:
            return False
        before = {(tokens[2 * start - 2], tokens[2 * start - 1]) for start in repeat.starts}
        return len(before) == 1

    kept = [one for one in _intervals(starts, shared) if one.length >= least and not grows_left(one)]
    return tuple(sorted(kept, key=lambda one: (-one.length, one.starts)))


def copy_lengths(tokens: Sequence[int], *, most: int) -> list[int]:
    """For each event, how many events from it on come again elsewhere without overlapping, at most so many."""
    starts, shared = _shared_events(tokens, most)
    lengths = [0] * len(starts)
    for repeat in _intervals(starts, shared):
        first, last = repeat.starts[0], repeat.starts[-1]
        for start in repeat.starts:
            lengths[start] = max(lengths[start], min(repeat.length, max(start - first, last - start)))
    return lengths


def known_from(tokens: Sequence[int]) -> list[tuple[int, int]]:
    """For each event, how many events from it on came before, and from which event on they first did.

    They may reach into what begins with it. Where nothing came before: none, from the event itself.
    """
    starts, shared = _shared_events(tokens, None)
    found = [(0, index) for index in range(len(starts))]
    for repeat in _intervals(starts, shared):
        for start in repeat.starts[1:]:
            found[start] = max(found[start], (repeat.length, repeat.starts[0]), key=lambda one: one[0])
    return found


def common_length(tokens: Sequence[int], one: int, other: int, *, most: int | None = None) -> int:
    """How many events from two events on are the same, the silences between them included; at most so many."""
    first, second = sorted((2 * one, 2 * other))
    room = len(tokens) - second if most is None else min(len(tokens) - second, 2 * most - 1)
    run = 0
    while run < room and tokens[first + run] == tokens[second + run]:
        run += 1
    return (run + 1) // 2


def tandem_at(tokens: Sequence[int], start: int, last: int, *, sizes: range) -> tuple[int, int]:
    """The figure that is played from an event on and again at once: its size, and how often it is played in all.

    Of several, the one whose repetitions cover most events; (0, 1) for none.

    start, last : events where to look, inclusive.
    sizes : how many events a figure has.
    """
    best = (0, 1)
    for size in sizes:
        if start + 2 * size - 1 > last:
            break
        shared = common_length(tokens, start, start + size, most=last - start - size + 1)
        times = 1 + shared // size
        if times > 1 and size * (times - 1) > best[0] * (best[1] - 1):
            best = (size, times)
    return best
