"""Following: which note became which when a source was edited, so that what was said of it stays with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher

from msgspec.structs import replace

from reedpath.jobs.workbench.draft import MarkedPart, MovePin
from reedpath.phrase import Phrase

__all__ = ["followed", "parts_followed", "pins_followed"]

# notes up to which every alignment is tried; longer phrases are compared from both ends, which an edit leaves alike
MOST_ALIGNED = 2_000


def _marks(phrase: Phrase) -> list[tuple[int, ...]]:
    return [event.midi for event in phrase.events]


def _alike(one: Sequence[tuple[int, ...]], other: Sequence[tuple[int, ...]]) -> int:
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def followed(before: Phrase, after: Phrase) -> dict[int, int]:
    """Index of each event of a performed phrase that is still there in another one, by its index before.

    Events that were changed in place, as many as there were, are the same events.
    """
    old, new = _marks(before), _marks(after)
    head = _alike(old, new)
    tail = min(_alike(old[::-1], new[::-1]), len(old) - head, len(new) - head)
    found = {at: at for at in range(head)}
    found |= {len(old) - at: len(new) - at for at in range(1, tail + 1)}
    middle_old, middle_new = old[head : len(old) - tail], new[head : len(new) - tail]
    if len(middle_old) == len(middle_new):
        return found | {head + at: head + at for at in range(len(middle_old))}
    if max(len(middle_old), len(middle_new)) <= MOST_ALIGNED:
        for one in SequenceMatcher(None, middle_old, middle_new, autojunk=False).get_matching_blocks():
            found |= {head + one.a + at: head + one.b + at for at in range(one.size)}
    return found


def pins_followed(pins: Sequence[MovePin], where: Mapping[int, int]) -> tuple[MovePin, ...]:
    """The pins of the events that are still there."""
    return tuple(replace(pin, event=where[pin.event]) for pin in pins if pin.event in where)


def parts_followed(parts: Sequence[MarkedPart], where: Mapping[int, int]) -> tuple[MarkedPart, ...]:
    """The parts of which an event is still there, from the first such to the last."""
    kept = []
    for part in parts:
        there = [where[event] for event in range(part.first, part.last + 1) if event in where]
        if there:
            kept.append(MarkedPart(part.label, min(there), max(there)))
    return tuple(kept)
