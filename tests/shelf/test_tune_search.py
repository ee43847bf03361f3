"""Search by tune: moved, slowed and mistaken notes find their melody, and the cost is the least there is."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.shelf import Melody, TuneIndex, melody_of, more_notes_wanted, typed_melody
from reedpath.shelf.tune_search import (
    END_COST,
    ENOUGH_NOTES,
    INTERVAL_COSTS,
    MOST_TIME_COST,
    STEPS,
    TEMPO_SPAN,
    TEMPOS,
    TIME_COST,
    WEIGHED,
)
from support.examples import examples
from support.kept_texts import assert_kept
from support.phrases import phrase_of

SCALE = Melody((60, 62, 64, 65, 67, 69, 71, 72), (1, 1, 0.5, 0.5, 1, 1, 2, 2))
LEAP = Melody((60, 67, 60, 72, 60, 67, 64, 60, 55), (1, 0.5, 0.5, 1, 1, 0.5, 0.5, 1, 2))
CALL = Melody((64, 67, 69, 70, 69, 67, 64, 64, 62), (1, 1, 1, 1, 1, 1, 2, 1, 1))
INDEX = TuneIndex([SCALE, LEAP, CALL])


def moved(melody: Melody, semitones: int, tempo: float, first: int = 0, last: int | None = None) -> Melody:
    midi, lengths = melody.midi[first:last], melody.lengths[first:last]
    return Melody(tuple(note + semitones for note in midi), tuple(length * tempo for length in lengths))


@pytest.mark.parametrize(("semitones", "tempo"), [(0, 1.0), (7, 0.5), (-5, 1.7)])
def test_the_very_notes_are_found_in_any_key_at_any_tempo_and_where(semitones, tempo):
    found = INDEX.find(moved(CALL, semitones, tempo, 1, 7))[0]
    assert (found.number, found.first, found.last, found.semitones) == (2, 1, 6, semitones)
    assert found.cost < 0.2
    assert math.isclose(found.tempo, tempo, rel_tol=0.15)


@pytest.mark.parametrize(
    "midi",
    [
        (64, 67, 69, 71, 69, 67, 64),  # a wrong note
        (64, 67, 70, 69, 67, 64, 64),  # one left out
        (64, 65, 67, 69, 70, 69, 67),  # one added
        (69, 70, 69, 67, 64, 62),  # two of the same sung as one
        (60, 67, 69, 70, 69, 67, 64),  # the first one wrong
    ],
)
def test_a_mistake_does_not_hide_a_tune_and_costs_something(midi):
    found = INDEX.find(Melody(midi))
    assert found[0].number == 2
    assert 0 < found[0].cost < found[1].cost


def test_what_is_too_short_finds_nothing_and_an_empty_library_has_nothing():
    assert INDEX.find(Melody((60, 62), (1, 1))) == []
    assert TuneIndex([]).find(CALL) == []
    assert TuneIndex([Melody(())]).find(CALL) == []
    assert [one.number for one in TuneIndex([Melody(()), SCALE, Melody(())]).find(SCALE)] == [1]


def test_a_melody_too_short_for_all_that_was_asked_is_not_found_and_hides_none():
    short, long = Melody((60, 62, 64)), Melody(tuple(range(60, 72)))
    assert TuneIndex([short]).find(long) == []
    assert [one.number for one in TuneIndex([short, long, short]).find(long)] == [1]


def test_how_many_more_notes_would_help():
    assert [more_notes_wanted(Melody(tuple(range(60, 60 + size)))) for size in (3, ENOUGH_NOTES, 20)] == [6, 0, 0]


def test_the_melody_of_a_phrase_is_its_line_without_grace_notes_with_its_rests():
    melody = melody_of(phrase_of("c4 1/4 r 1/4 e4 1/2"))
    assert (melody.midi, melody.lengths) == ((60, 64), (2.0, 2.0))


def test_a_typed_note_without_an_octave_lies_as_near_as_can_be_to_the_one_before():
    assert typed_melody("E G B D F A").midi == (64, 67, 71, 74, 77, 81)
    assert typed_melody("A F D B G E").midi == (69, 65, 62, 59, 55, 52)
    assert typed_melody("C F# C").midi == (60, 66, 72)  # of two as near the higher
    assert typed_melody("C5 B, Bb | E").midi == (72, 71, 70, 76)


def _interval_cost(one: int, other: int) -> float:
    return INTERVAL_COSTS[min(abs(one - other), len(INTERVAL_COSTS) - 1)]


def _time(lengths: tuple[float, ...], first: int, last: int) -> float:
    return sum(lengths[first:last])


def least_cost(query: Melody, melody: Melody) -> float:
    """The least cost by going through every way, one tempo after another."""
    least = math.inf
    for doublings in np.linspace(-TEMPO_SPAN, TEMPO_SPAN, TEMPOS):

        def upto(at: int, note: int, doublings: float = doublings) -> float:
            if at == 0:
                return 0.0
            best = END_COST if at == 1 else math.inf
            for (queried, sung), cost in STEPS:
                if queried <= at and sung <= note:
                    asked = query.midi[at] - query.midi[at - queried]
                    cost += _interval_cost(asked, melody.midi[note] - melody.midi[note - sung])
                    off = math.log2(_time(query.lengths, at - queried, at)) - doublings
                    off -= math.log2(_time(melody.lengths, note - sung, note))
                    cost += min(TIME_COST * off * off, MOST_TIME_COST)
                    best = min(best, cost + upto(at - queried, note - sung))
            return best

        for note in range(len(melody.midi)):
            least = min(least, upto(len(query.midi) - 1, note))
            if len(query.midi) > ENOUGH_NOTES // 2:
                least = min(least, upto(len(query.midi) - 2, note) + END_COST)
    return least


NOTES = st.lists(st.tuples(st.integers(55, 79), st.sampled_from([0.5, 1.0, 1.5, 2.0])), min_size=4, max_size=6)


@examples(40)
@given(st.lists(NOTES, min_size=1, max_size=3), NOTES)
def test_the_cost_is_the_least_of_all_ways(library, query):
    def melody(notes: list[tuple[int, float]]) -> Melody:
        return Melody(tuple(note for note, _ in notes), tuple(length for _, length in notes))

    melodies, asked = [melody(notes) for notes in library], melody(query)
    found = {one.number: one.cost for one in TuneIndex(melodies).find(asked)}
    for number, one in enumerate(melodies):
        assert math.isclose(found[number], least_cost(asked, one), abs_tol=0.03)


@given(st.integers(-11, 11), st.fractions(Fraction(1, 2), 2))
def test_neither_key_nor_tempo_changes_what_is_found(semitones, tempo):
    query = Melody((64, 67, 69, 70, 69, 66), (1, 1, 1, 1, 1, 2))
    assert INDEX.find(query)[0].number == INDEX.find(moved(query, semitones, float(tempo)))[0].number == 2


def test_of_more_tunes_than_are_weighed_again_the_nearest_is_among_those_that_are():
    drawn = np.random.default_rng(4).integers(55, 80, (3 * WEIGHED, 12))
    index = TuneIndex([Melody(tuple(map(int, one)), (1.0,) * 12) for one in drawn])
    for number in (0, 250, 3 * WEIGHED - 1):
        query = Melody(tuple(int(note) + 3 for note in drawn[number][2:11]), (1.0,) * 9)
        assert index.find(query)[0].number == number
        assert index.find(query, among=range(1, 300))[0].number == number or number not in range(1, 300)


def test_what_is_found_among_many_melodies(monkeypatch):
    """Each line: what was asked, and of what was found number, cost, first and last note, interval and tempo."""
    rng = np.random.default_rng(7)
    steps = rng.choice([-5, -4, -3, -2, -1, 0, 1, 2, 2, 3, 4, 7], size=(24, 14))
    lengths = rng.choice([0.25, 0.5, 0.5, 1.0, 1.0, 1.5, 2.0], size=(24, 14))
    library = [
        Melody(tuple(map(int, 60 + np.cumsum(row[: 3 + at % 12]))), tuple(map(float, beats[: 3 + at % 12])))
        for at, (row, beats) in enumerate(zip(steps, lengths, strict=True))
    ]
    library[5], library[9] = Melody(()), Melody(library[9].midi)
    index, told = TuneIndex(library), []
    for weighed in (2, 200):
        monkeypatch.setattr("reedpath.shelf.tune_search.WEIGHED", weighed)
        for at in range(0, 24, 2):
            melody = library[at]
            queries = [
                moved(melody, at - 12, 0.5 + at / 10, at % 3, at % 3 + 8),
                Melody(melody.midi[:4] + tuple(note + 1 for note in melody.midi[4:5]) + melody.midi[5:]),
                Melody(melody.midi[1:3] + melody.midi[4:], melody.lengths[1:3] + melody.lengths[4:]),
            ]
            for query in queries:
                found = index.find(query, top=2, among=None if at % 4 else range(3, 22))
                told.append(
                    f"{weighed} {at} {len(query.midi)}: "
                    + "; ".join(
                        f"{one.number} {one.cost:.3f} {one.first}-{one.last} {one.semitones} {one.tempo:.3f}"
                        for one in found
                    )
                )
    assert_kept(Path(__file__).parent / "rows" / "tunes.txt", "\n".join(told) + "\n")
