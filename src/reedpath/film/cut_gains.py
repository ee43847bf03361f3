"""By how much the sound of each film is raised or lowered in a cut, so that she is as loud in one as in another."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from reedpath.film.film_cut import CutKind, CutPiece
from reedpath.film.footage import Footage
from reedpath.hear import HOP_SECONDS

# seconds of talk, or of playing, that two films must both have for their loudness to be compared by it; ours
LEAST_SECONDS = 1.5
# decibels under which nobody hears that a voice is louder: about the smallest step that is noticed in speech, common
# practice, no source; and by which a film is raised or lowered at most; ours
LEAST_DB, MOST_DB = 2.0, 20.0
# decibels that must lie over the loudest window of a film that is raised: a voice's peaks stand so far over its
# level, common practice, no source; and by which the others are lowered at most where that leaves too little; ours
PEAKS_DB, MOST_LOWERED_DB = 12.0, 12.0


def _level_db(footage: Footage, pieces: Iterable[CutPiece], kind: CutKind) -> float | None:
    """The middle level of what is talked, or played, in stretches of a film; None for too little."""
    course = footage.course
    flags = course.talk if kind is CutKind.TALK else course.tone
    spans = [slice(round(one.start_seconds / HOP_SECONDS), round(one.end_seconds / HOP_SECONDS)) for one in pieces]
    levels = [course.level_db[span][flags[span]] for span in spans]
    found = np.concatenate(levels) if levels else np.zeros(0)
    return float(np.median(found)) if len(found) * HOP_SECONDS >= LEAST_SECONDS else None


def _wanted_db(
    footage: Footage, pieces: Sequence[CutPiece], wanted: dict[CutKind, float | None]
) -> tuple[float, float]:
    """By how much a film is to be raised to be as loud as is wanted, by its talk, or else by what is played in it;
    and by how much it can be.
    """
    for kind in (CutKind.TALK, CutKind.PLAY):
        own = _level_db(footage, pieces, kind)
        asked = wanted[kind]
        if own is not None and asked is not None and abs(asked - own) >= LEAST_DB:
            room = max(0.0, -PEAKS_DB - float(footage.course.level_db.max()))
            return float(np.clip(asked - own, -MOST_DB, MOST_DB)), room
        if own is not None and asked is not None:
            break
    return 0.0, 0.0


def even_gains(footage: Sequence[Footage], pieces: Sequence[CutPiece]) -> tuple[float, ...]:
    """Decibels by which each film is raised so that all are as loud as the one of which most stays; none for nothing.

    pieces : the stretches of the cut.

    Where one cannot be raised so far, the others are lowered.
    """
    kept = [[one for one in pieces if one.keep and one.film == film] for film in range(len(footage))]
    first = max(range(len(footage)), key=lambda film: (sum(one.seconds for one in kept[film]), -film))
    wanted = {kind: _level_db(footage[first], kept[first], kind) for kind in (CutKind.TALK, CutKind.PLAY)}
    told = [
        (0.0, 0.0) if film == first else _wanted_db(each, kept[film], wanted) for film, each in enumerate(footage)
    ]
    missing = max(gain - room for gain, room in told)
    lower = missing if missing >= LEAST_DB else 0.0
    lower = min(lower, MOST_LOWERED_DB)
    gains = tuple(round(min(gain - lower, room), 1) for gain, room in told)
    return gains if any(gains) else ()
