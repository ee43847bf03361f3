"""How loud films are that are cut into one: as loud as the one of which most stays, by her talk, else her playing."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.film import CutKind, CutPiece, CutWhy, Footage
from reedpath.film.cut_gains import even_gains
from reedpath.hear import HOP_SECONDS, SoundCourse


def film(talk_db: float | None, play_db: float | None = None) -> Footage:
    """A film of 20 s: talk so loud from second 1 to 5, what is played so loud from 6 to 12."""
    level = np.full(round(20.0 / HOP_SECONDS), -70.0, dtype=np.float32)
    flags = []
    for loud, start, end in ((talk_db, 1.0, 5.0), (play_db, 6.0, 12.0)):
        said = np.zeros(len(level), dtype=bool)
        if loud is not None:
            span = slice(round(start / HOP_SECONDS), round(end / HOP_SECONDS))
            said[span], level[span] = True, loud
        flags.append(said)
    return Footage("film.mp4", 20.0, 25.0, [], SoundCourse(level, *flags, np.zeros_like(flags[0])), [(0.0, 20.0)])


def stays(number: int, start: float, end: float, *, keep: bool = True) -> CutPiece:
    return CutPiece(number, start, end, CutKind.TALK, keep=keep, why=CutWhy.TALK)


WHOLE = (stays(0, 0.0, 20.0), stays(1, 0.0, 15.0))


@pytest.mark.parametrize(
    ("first", "second", "gains"),
    [
        ((-30.0, None), (-24.0, None), (0.0, -6.0)),
        ((-30.0, None), (-40.0, None), (0.0, 10.0)),
        ((-30.0, -20.0), (-36.0, -20.0), (0.0, 6.0)),  # her voice counts before what she plays
        ((None, -20.0), (-40.0, -26.0), (0.0, 6.0)),  # without talk in one what is played does
        ((-30.0, None), (None, -20.0), ()),  # nothing to compare
        ((-30.0, None), (-31.5, None), ()),  # nobody hears it
        ((-5.0, None), (-65.0, None), (0.0, 20.0)),
        # what is loudest in it would be cut off: the other is lowered
        ((-24.0, -15.0), (-30.0, -13.0), (-5.0, 1.0)),
        ((-24.0, -15.0), (-30.0, -10.0), (-6.0, 0.0)),
        ((-24.0, -15.0), (-27.0, -13.5), (0.0, 1.5)),  # nobody hears what is missing
        ((-5.0, -5.0), (-25.0, -18.0), (-12.0, 6.0)),
    ],
)
def test_a_film_is_as_loud_as_the_one_of_which_most_stays(first, second, gains: tuple[float, ...]) -> None:
    assert even_gains([film(*first), film(*second)], WHOLE) == gains


def test_what_goes_is_not_looked_at() -> None:
    films = [film(-30.0), film(-20.0)]
    assert even_gains(films, (stays(0, 0.0, 20.0), stays(1, 0.0, 15.0, keep=False))) == ()
    assert even_gains(films, (stays(0, 0.0, 4.0), stays(1, 0.0, 15.0))) == (10.0, 0.0)
    assert even_gains(films[:1], (stays(0, 0.0, 4.0),)) == ()
