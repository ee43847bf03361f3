"""What somebody sings in raw footage before she plays it: told from reeds by how its pitch stands and lies."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
import pytest

from reedpath.film import FoundPlay
from reedpath.film.footage import _is_sung
from reedpath.harp import Alteration, Breath, Move
from reedpath.hear import HOP_SECONDS, SoundCourse
from reedpath.jobs.footage_hearing import _with_singing
from support.play_throughs import play_through

DRAW = Move((2,), Breath.DRAW)
BEND = Move((2,), Breath.DRAW, Alteration.BEND, -1)


@dataclass(frozen=True)
class Note:
    """A note of an answer, as far as it is looked at."""

    unsteady_cents: float | None
    heard_cents: float | None
    vibrato: object = None
    move: Move = DRAW


def answered(*notes: Note) -> SimpleNamespace:
    return SimpleNamespace(heard_events=notes)


WAVE = object()
SUNG = [Note(8.0, cents, WAVE) for cents in (-12.0, 5.0, 9.0, -6.0, 0.0)]


@pytest.mark.parametrize(
    ("notes", "sung"),
    [
        (SUNG, True),
        ([Note(8.0, cents) for cents in (-30.0, 22.0, 0.0, 25.0, -24.0)], True),  # without vibrato, but far off
        ([Note(8.0, cents) for cents in (-12.0, 5.0, 9.0, -6.0, 0.0)], False),  # a breath that is unsteady
        ([Note(2.0, cents, WAVE) for cents in (-12.0, 5.0, 9.0, -6.0, 0.0)], False),  # reeds with vibrato
        ([Note(8.0, cents, WAVE) for cents in (-1.0, 0.5, 1.0, -0.6, 0.0)], False),  # all in tune
        ([Note(2.0, cents) for cents in (-30.0, 22.0, 0.0, 25.0, -24.0)], False),  # a harp out of tune
        (SUNG[:3], False),  # too few to tell
        ([*SUNG[:3], *(Note(8.0, 20.0, WAVE, BEND) for _ in range(9))], False),  # bends say nothing
        ([Note(None, None)] * 9, False),
    ],
)
def test_singing_wanders_in_each_note_and_from_note_to_note(notes: list[Note], sung: bool) -> None:
    assert _is_sung(answered(*notes)) is sung  # type: ignore[arg-type]


def test_what_is_sung_is_talk_and_what_is_played_is_not() -> None:
    count = round(10.0 / HOP_SECONDS)
    tone = np.ones(count, dtype=bool)
    course = SoundCourse(np.zeros(count, dtype=np.float32), ~tone, tone, ~tone)
    plays = [
        FoundPlay(play_through([(0, 1.0, 2.0), (1, 2.0, 3.0)]), 1.0, 2.0, is_sung=True),
        FoundPlay(play_through([(0, 5.0, 6.0), (1, 6.0, 7.0)]), 1.0, 2.0),
    ]
    found = _with_singing(course, plays)
    assert found.talk.sum() * HOP_SECONDS == pytest.approx(2.0, abs=0.03)
    assert found.talk[round(1.5 / HOP_SECONDS)]
    assert (found.talk ^ found.tone).all()
