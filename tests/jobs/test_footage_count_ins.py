"""What is counted in before a take of raw footage: words or taps on its beats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from reedpath.film import CutKind, CutOrder, Footage, FoundPlay, proposed_cut
from reedpath.hear import HOP_SECONDS, SoundCourse
from reedpath.jobs.footage_count_ins import counted_from
from support.pieces import porch
from support.play_throughs import play_through

LESSON = porch()
# of the full tempo
BEAT = 0.6
START = 10.0


def course(*spans: tuple[float, float], played: tuple[float, float] = (START, START + 5.0)) -> SoundCourse:
    def flags(sounds: Sequence[tuple[float, float]]) -> np.ndarray:
        found = np.zeros(round(20.0 / HOP_SECONDS), dtype=bool)
        for start, end in sounds:
            found[round(start / HOP_SECONDS) : round(end / HOP_SECONDS)] = True
        return found

    talk, tone = flags(spans), flags([played])
    level = np.where(talk | tone, -20.0, -70.0).astype(np.float32)
    return SoundCourse(level, talk, tone, flags(()))


def play(factor: float = 1.0, first: int = 0) -> FoundPlay:
    step = BEAT / factor
    events = [(first + n, START + n * step, START + (n + 1) * step) for n in range(7)]
    return FoundPlay(play_through(events, factor=factor), 1.0, 7.0)


def counts(*beats: float, factor: float = 1.0, length: float = 0.3, off: Sequence[float] = ()) -> list:
    """So many beats before the first note each, seconds beside them."""
    beside = [*off, *[0.0] * len(beats)]
    starts = [START - beat * BEAT / factor + shift for beat, shift in zip(beats, beside, strict=False)]
    return [(start, start + length) for start in starts]


@pytest.mark.parametrize("factor", [0.5, 0.76, 1.0])
def test_words_on_the_beats_before_the_first_note_count_it_in(factor: float) -> None:
    said = counts(4, 3, 2, 1, factor=factor, off=(0.03, -0.06, -0.05, 0.02))
    assert counted_from(course(*said), play(factor), LESSON) == pytest.approx(said[0][0], abs=0.011)
    three = counts(3, 2, 1, factor=factor)
    assert counted_from(course(*three), play(factor), LESSON) == pytest.approx(three[0][0], abs=0.011)
    # a word on a beat before a whole bar is none of it; two bars are
    before = counts(6, 5, 4, 3, 2, 1, factor=factor)
    assert counted_from(course(*before), play(factor), LESSON) == pytest.approx(before[2][0], abs=0.011)
    two_bars = counts(*range(8, 0, -1), factor=factor)
    assert counted_from(course(*two_bars), play(factor), LESSON) == pytest.approx(max(0.0, two_bars[0][0]), abs=0.011)
    # what is said before it is none of it
    lament = (said[0][0] - 1.5, said[0][0] - 0.4)
    assert counted_from(course(lament, *said), play(factor), LESSON) == pytest.approx(said[0][0], abs=0.011)


@pytest.mark.parametrize(
    "said",
    [
        counts(2, 1),  # two words may be the end of a sentence
        counts(4, 3, 2, 1, factor=0.8),  # another tempo
        counts(4.5, 3.5, 2.5, 1.5),  # beside the beat
        counts(4, 3, 2, 1.5, 1, length=0.2),  # something between
        [(START - 2.0, START - 0.2)],  # a sentence
        [(START - 3.4, START - 2.0), *counts(3, 2, 1)],  # the end of one
        counts(3, 2, 1, length=0.57),  # without a pause between
        [],
    ],
)
def test_what_is_not_on_the_beats_counts_nothing_in(said: list[tuple[float, float]]) -> None:
    assert counted_from(course(*said), play(), LESSON) is None


def test_a_count_in_goes_with_its_take_and_what_is_said_before_it_does_not() -> None:
    """An introduction that stays, a false start that was counted in, a lament, and the take, counted in anew."""
    shift = 6.0
    said = [(2.0, 6.0), *counts(4, 3, 2, 1), (START + 1.9, START + 2.4)]
    said += [(start + shift, end + shift) for start, end in counts(4, 3, 2, 1)]
    heard = course(*said, played=(START, START + 1.2))
    heard.tone[round((START + shift) / HOP_SECONDS) :] = True
    events = [(n, START + shift + n * BEAT, START + shift + (n + 1) * BEAT) for n in range(7)]
    bad = FoundPlay(play_through([(0, START, START + 0.6), (1, START + 0.6, START + 1.2)]), 1.0, 2.0, only_begun=True)
    good = FoundPlay(play_through(events), 1.0, 7.0)
    tries = [replace(one, counted_from=counted_from(heard, one, LESSON)) for one in (bad, good)]
    assert [one.counted_from for one in tries] == pytest.approx([START - 2.4, START + shift - 2.4], abs=0.011)
    film = Footage("raw.mp4", 20.0, 25.0, tries, heard, [(0.0, 20.0)])
    cut = proposed_cut([film], LESSON, order=CutOrder.TAUGHT)
    kept = [(one.kind, round(one.start_seconds, 1)) for one in cut.pieces if one.keep]
    assert kept == [(CutKind.TALK, 1.7), (CutKind.PLAY, 13.0)]
