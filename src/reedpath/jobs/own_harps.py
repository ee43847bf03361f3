"""The harps that the teacher owns, kept on the shelf."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.jobs.instruments import HarpChoice, chosen_harps
from reedpath.shelf import OwnedHarp, Shelf


def own_harps(shelf: Shelf) -> tuple[OwnedHarp, ...]:
    """The teacher's harps, in the order in which they were said."""
    return tuple(shelf.all(OwnedHarp, student=None))


def set_own_harps(shelf: Shelf, harps: Sequence[tuple[str, str]]) -> tuple[OwnedHarp, ...]:
    """Let these be the teacher's harps, each a key and the name of its tuning; as one step.

    Those that are there already stay as they are, with what was noted of them.

    Raises `ReedpathError` when one is no harp, or of no known tuning.
    """
    wanted = list(dict.fromkeys(harps))
    for key, tuning in wanted:
        chosen_harps(HarpChoice(tunings=(tuning,)), owned=(key,))
    there = own_harps(shelf)
    kept = {(one.key, one.tuning) for one in there}
    if kept == set(wanted):
        return there
    with shelf.step("harps"):
        for one in there:
            if (one.key, one.tuning) not in wanted:
                shelf.remove(one)
        for key, tuning in wanted:
            if (key, tuning) not in kept:
                shelf.add(OwnedHarp(key=key, tuning=tuning))
    return own_harps(shelf)
