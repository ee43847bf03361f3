"""Hearing in one call: from a sound to its notes."""

from __future__ import annotations

from collections.abc import Iterable

import numpy.typing as npt

from reedpath.hear.curve import curve_of
from reedpath.hear.notes import HeardNote, notes_of
from reedpath.hear.observe import observe
from reedpath.hear.strikes import with_double_stops
from reedpath.signal.samples import Samples

__all__ = ["hear_notes"]


def hear_notes(
    sound: Samples | Iterable[Samples], *, prior: npt.ArrayLike | None = None, chords: bool = False
) -> tuple[HeardNote, ...]:
    """The notes of a sound, in order; none for silence.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    prior : what pitches may be expected, as for `track_pitch`.
    chords : whether plucked strings may sound two or three notes at once; then notes that sound together are
        notes of the same start.
    """
    seen = observe(sound, chords=chords)
    notes = notes_of(seen, curve_of(seen, prior=prior))
    return with_double_stops(seen, notes) if chords else notes
