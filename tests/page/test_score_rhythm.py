from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction as F
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import PageError
from reedpath.page.score.bars import bars_of, grid_of
from reedpath.page.score.beams import beam_states
from reedpath.page.score.measures import Measure, measures_of
from reedpath.page.score.rhythm import VALUES, RhythmPiece
from reedpath.page.score.sheet import Sheet, sheet_of
from reedpath.phrase import Event, Metre, Phrase
from support.examples import examples
from support.routes import phrase_of, route_of
from support.spent_bytes import SpentBytes, built_from_bytes

BEATS = {name: length for length, name in VALUES.items()}


def measures(text: str, count: int = 4, unit: int = 4, **fields: object) -> tuple[Measure, ...]:
    phrase = phrase_of(text, metres=(Metre(F(0), count, unit),), **fields)
    return measures_of(sheet_of(route_of(phrase)))


def signs(measure: Measure) -> str:
    """A measure as text: note values in beats, r for rests, ~ tied on, tuplets as ratios."""
    words = []
    for index, piece in enumerate(measure.pieces):
        if piece.value is None:
            words.append("bar rest")
            continue
        word = ("r" if piece.source is None else "") + piece.value.name + "." * piece.value.dots
        if piece.tuplet:
            word += f"/{piece.tuplet.actual}:{piece.tuplet.normal}"
        later = measure.pieces[index + 1 : index + 2]
        if piece.source is not None and later and later[0].source == piece.source:
            word += "~"
        words.append(word)
    return " ".join(words)


# how engravers write these (common practice; E. Gould, Behind Bars, 2011, from memory)
WRITTEN = [
    ("C4:4", 4, 4, "whole"),
    ("C4:3 D4:1", 4, 4, "half. quarter"),
    ("C4:1 D4:3", 4, 4, "quarter half."),
    ("C4:1 D4:2 E4:1", 4, 4, "quarter half quarter"),
    ("C4:1/2 D4:1 E4:5/2", 4, 4, "eighth quarter eighth~ half"),
    ("C4:3/2 D4:1 E4:3/2", 4, 4, "quarter. eighth~ eighth quarter."),
    ("C4:3/2 D4:5/2", 4, 4, "quarter. eighth~ half"),
    ("C4:1 D4:5/2 E4:1/2", 4, 4, "quarter quarter~ quarter. eighth"),
    ("C4:5/2 D4:3/2", 4, 4, "half~ eighth quarter."),
    ("C4:1/4 D4:3/4 E4:3", 4, 4, "16th eighth. half."),
    ("C4:1/4 D4:1/2 E4:1/4 C4:3", 4, 4, "16th eighth 16th half."),
    ("r:1 C4:1 r:2", 4, 4, "rquarter quarter rhalf"),
    ("C4:1 r:3", 4, 4, "quarter rquarter rhalf"),
    ("r:1/2 C4:1/2 r:3", 4, 4, "reighth eighth rquarter rhalf"),
    ("C4:2 D4:1", 3, 4, "half quarter"),
    ("C4:1 D4:2", 3, 4, "quarter half"),
    ("C4:1/2 D4:5/2", 3, 4, "eighth eighth~ half"),
    ("C4:1 r:2", 3, 4, "quarter rquarter rquarter"),
    ("C4:3", 6, 8, "half."),
    ("C4:1 D4:1 E4:1", 6, 8, "quarter eighth~ eighth quarter"),
    ("C4:1/2 D4:1 E4:3/2", 6, 8, "eighth quarter quarter."),
    ("C4:2 D4:1", 6, 8, "quarter.~ eighth quarter"),
    ("C4:3/2 r:3/2", 6, 8, "quarter. rquarter."),
    ("C4:1/2 r:1 D4:3/2", 6, 8, "eighth reighth reighth quarter."),
    ("C4:3/4 D4:3/4 E4:3/2", 6, 8, "eighth. eighth. quarter."),
    ("C4:9/2 D4:3/2", 12, 8, "half.~ quarter. quarter."),
    ("C4:3/2 D4:3 E4:3/2", 12, 8, "quarter. quarter.~ quarter. quarter."),
    ("C4:2 D4:2", 2, 2, "half half"),
    ("C4:1 D4:2 E4:1", 2, 2, "quarter half quarter"),
    ("C4:5/2", 5, 8, "quarter~ quarter."),
    ("C4:1/3 D4:1/3 E4:1/3 C4:3", 4, 4, "eighth/3:2 eighth/3:2 eighth/3:2 half."),
    ("C4:2/3 D4:1/3 C4:3", 4, 4, "quarter/3:2 eighth/3:2 half."),
    ("C4:1/3 D4:2/3 C4:3", 4, 4, "eighth/3:2 quarter/3:2 half."),
    ("C4:2/3 D4:2/3 E4:2/3 C4:2", 4, 4, "quarter/3:2 quarter/3:2 quarter/3:2 half"),
    ("C4:4/3 D4:4/3 E4:4/3", 4, 4, "half/3:2 half/3:2 half/3:2"),
    ("C4:2/3 D4:10/3", 4, 4, "quarter/3:2 eighth/3:2~ half."),
    ("C4:1/6 D4:1/6 E4:1/6 C4:1/2 r:3", 4, 4, "16th/3:2 16th/3:2 16th/3:2 eighth rquarter rhalf"),
    ("C4:1/5 D4:1/5 E4:1/5 F4:1/5 G4:1/5 C4:3", 4, 4, " ".join(["16th/5:4"] * 5) + " half."),
    (" ".join(["C4:2/7"] * 7) + " D4:2", 4, 4, " ".join(["eighth/7:4"] * 7) + " half"),
    (" ".join(["C4:3/10"] * 5) + " D4:3/2", 6, 8, " ".join(["eighth/5:3"] * 5) + " quarter."),
    (" ".join(["C4:1/6"] * 3) + " C4:1 D4:3/2", 6, 8, "16th/3:2 16th/3:2 16th/3:2 quarter quarter."),
]


@pytest.mark.parametrize(("text", "count", "unit", "written"), WRITTEN)
def test_rhythm_is_written_as_engravers_do(text: str, count: int, unit: int, written: str) -> None:
    assert signs(measures(text, count, unit)[0]) == written


def test_a_held_note_is_tied_over_the_bar_line() -> None:
    first, second = measures("C4:1 D4:5 E4:2")
    assert signs(first) == "quarter half."
    assert signs(second) == "half half"
    assert first.pieces[-1].source == second.pieces[0].source == 1


def test_a_pickup_is_the_end_of_a_bar() -> None:
    pickup, full = measures("C4:1/2 D4:1 E4:4", pickup=F(3, 2))
    assert (pickup.bar.number, full.bar.number) == (0, 1)
    assert signs(pickup) == "eighth quarter"
    assert signs(full) == "whole"


def test_a_pickup_longer_than_a_bar_is_cut_into_bars() -> None:
    found = measures("C4:1 D4:4 E4:4", pickup=F(5))
    assert [one.bar.end - one.bar.onset for one in found] == [1, 4, 4]


def test_a_change_of_metre_starts_a_bar() -> None:
    metres = (Metre(F(0), 4, 4), Metre(F(4), 6, 8))
    phrase = phrase_of("C4:4 D4:3/2 E4:3/2", metres=metres)
    found = measures_of(sheet_of(route_of(phrase)))
    assert [one.bar.shows_metre for one in found] == [True, True]
    assert signs(found[1]) == "quarter. quarter."


def test_an_unwritable_metre_says_what_can_be_written() -> None:
    with pytest.raises(PageError, match="a metre of 4/5 cannot be written"):
        grid_of(4, 5)


def test_beams_follow_the_beats_and_hooks_point_at_their_beat() -> None:
    measure = measures("C4:3/4 D4:1/4 E4:1/4 F4:1/2 G4:1/4 A4:1/2 B4:1/2 C5:1")[0]
    assert beam_states(measure) == {
        0: ["begin"],
        1: ["end", "backward hook"],
        2: ["begin", "forward hook"],
        3: ["continue"],
        4: ["end", "backward hook"],
        5: ["begin"],
        6: ["end"],
    }


def test_rhythm_off_every_grid_is_rounded_and_named() -> None:
    phrase = phrase_of("C4:337/480 D4:143/480 E4:3", metres=())
    sheet = sheet_of(route_of(phrase))
    assert [note.is_exact for note in sheet.notes] == [False, False, True]
    assert abs(sheet.notes[0].end - F(337, 480)) < F(1, 20)


def test_rounding_keeps_every_note_however_short() -> None:
    phrase = phrase_of("C4:1/1000 D4:1/1000 E4:1/1000 F4:997/1000", metres=())
    notes = sheet_of(route_of(phrase)).notes
    assert len(notes) == 4
    assert all(note.end > note.onset for note in notes)
    assert all(a.end == b.onset for a, b in pairwise(notes))


def test_a_septuplet_in_a_pickup_that_begins_inside_a_beat_is_snapped() -> None:
    """X:1 M:6/8 (7:2:7zzzzG3|c3 e3|: no lesson is refused for it."""
    pickup, first = measures("r:4/7 G4:3/7 C5:3/7 E5:3/7", 6, 8, pickup=F(1))
    assert (pickup.bar.end, first.bar.onset) == (1, 1)
    sheet = sheet_of(route_of(phrase_of("r:4/7 G4:3/7", metres=(Metre(F(0), 6, 8),), pickup=F(1))))
    assert not sheet.notes[0].is_exact
    assert abs(sheet.notes[0].onset - F(4, 7)) < F(1, 30)


def test_a_pickup_off_every_grid_gets_the_nearest_length_that_can_be_written() -> None:
    pickup, first = measures("C4:337/480 D4:1 E4:3", pickup=F(337, 480))
    assert signs(pickup) == "quarter/3:2"
    assert signs(first) == "quarter half."
    assert abs(pickup.bar.end - F(337, 480)) < F(1, 24)


def test_more_notes_than_a_beat_can_hold_is_an_error_with_its_bar() -> None:
    events = tuple(Event(F(i, 400), F(1, 400), (60,)) for i in range(400))
    with pytest.raises(PageError, match="bar 1: 400 notes begin or end within one beat"):
        sheet_of(route_of(Phrase(events)))


def test_two_events_at_once_are_refused() -> None:
    events = (Event(F(0), F(1), (60,)), Event(F(0), F(1), (64,)))
    with pytest.raises(PageError, match="two events start together at beat 0"):
        sheet_of(route_of(Phrase(events)))


def test_no_bars_are_lost_or_doubled() -> None:
    phrase = phrase_of("C4:1 D4:9", metres=(Metre(F(0), 3, 4),), pickup=F(1))
    found = bars_of(phrase)
    assert [(bar.onset, bar.end) for bar in found] == [(0, 1), (1, 4), (4, 7), (7, 10)]


# -------------------------------------------------------------------------------------------------- properties

METRES = [(4, 4), (3, 4), (2, 4), (2, 2), (6, 8), (9, 8), (12, 8), (5, 8), (7, 8), (5, 4), (3, 8)]
GRID = [F(1, 2), F(1, 4), F(1), F(1, 3), F(1, 6), F(1, 8), F(1, 5), F(3, 2), F(2, 7), F(1, 24)]
PARTS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 12]
ODD_PARTS = [3, 5, 7, 9, 11, 13, 15, 21, 33, 480, 997]
Length = Callable[[SpentBytes], F]


def on_a_grid(drawn: SpentBytes) -> F:
    return drawn.pick(GRID) * drawn.whole(1, 9)


def of_any_length(drawn: SpentBytes) -> F:
    """1/480 to 5 beats."""
    parts = drawn.whole(1, 480)
    return F(drawn.whole(-(-parts // 480), 5 * parts), parts)


def odd(drawn: SpentBytes) -> F:
    return F(drawn.whole(1, 40), drawn.pick(ODD_PARTS))


def events_of(drawn: SpentBytes, length_of: Length, *, most: int, rest_in: int) -> tuple[Event, ...]:
    at, events = F(0), []
    for _ in range(drawn.whole(1, most)):
        length = length_of(drawn)
        if not drawn.yes(rest_in):
            events.append(Event(at, length, (drawn.whole(60, 72),)))
        at += length
    return tuple(events)


def phrases(length_of: Length) -> st.SearchStrategy[Phrase]:
    def phrase(drawn: SpentBytes) -> Phrase:
        metre, pickup = Metre(F(0), *drawn.pick(METRES)), drawn.pick([F(0), F(1, 2), F(1)])
        return Phrase(events_of(drawn, length_of, most=8, rest_in=5), metres=(metre,), pickup=pickup)

    return built_from_bytes(phrase, size=120)


def divided_beats(drawn: SpentBytes) -> Phrase:
    """Beats of 4/4, each in equal parts of its own."""
    events: list[Event] = []
    for beat, parts in enumerate(drawn.picks(PARTS, least=1, most=6)):
        events += [Event(beat + F(i, parts), F(1, parts), (60,)) for i in range(parts)]
    return Phrase(tuple(events), metres=(Metre(F(0), 4, 4),))


def odd_rhythm(drawn: SpentBytes) -> Phrase:
    """Tuplets of any kind, in pickups of any length, and in bars that a new metre cuts anywhere."""
    metres = [Metre(F(0), *drawn.pick(METRES))]
    if drawn.yes():
        metres.append(Metre(odd(drawn), *drawn.pick(METRES)))
    pickup = odd(drawn) if drawn.yes() else F(0)
    return Phrase(events_of(drawn, odd, most=5, rest_in=2), metres=tuple(metres), pickup=pickup)


def written_beats(piece: RhythmPiece) -> F:
    assert piece.value is not None
    length = BEATS[piece.value.name] * (F(3, 2) if piece.value.dots else 1)
    return length * F(piece.tuplet.normal, piece.tuplet.actual) if piece.tuplet else length


def check(phrase: Phrase) -> Sheet:
    """The sheet of a phrase, all of whose notes and rests are written at their lengths."""
    sheet = sheet_of(route_of(phrase))
    found = measures_of(sheet)
    for measure in found:
        pieces = measure.pieces
        assert pieces[0].onset == measure.bar.onset
        assert pieces[-1].end == measure.bar.end
        assert all(a.end == b.onset for a, b in pairwise(pieces))
        for piece in pieces:
            if piece.value is not None:
                assert written_beats(piece) == piece.end - piece.onset
            if piece.tuplet:
                assert piece.tuplet.start <= piece.onset < piece.end <= piece.tuplet.end
    pieces_of: defaultdict[int | None, list[RhythmPiece]] = defaultdict(list)
    for measure in found:
        for piece in measure.pieces:
            pieces_of[piece.source].append(piece)
    for index, note in enumerate(sheet.notes):
        pieces = pieces_of[index]
        assert (pieces[0].onset, pieces[-1].end) == (note.onset, note.end)
        assert sum(piece.end - piece.onset for piece in pieces) == note.end - note.onset
    return sheet


@examples(150)
@given(phrases(on_a_grid))
def test_every_note_is_written_at_its_length(phrase: Phrase) -> None:
    check(phrase)


@examples(80)
@given(phrases(of_any_length))
def test_any_lengths_can_be_written(phrase: Phrase) -> None:
    check(phrase)


@examples(80)
@given(built_from_bytes(divided_beats, size=8))
def test_what_can_be_written_exactly_is(phrase: Phrase) -> None:
    """Notes that lie on one division of each beat stay where they are."""
    assert all(note.is_exact for note in check(phrase).notes)


@examples(60)
@given(built_from_bytes(odd_rhythm, size=40))
def test_no_rhythm_is_refused(phrase: Phrase) -> None:
    check(phrase)


def test_a_rest_fills_a_full_bar_with_one_sign_and_a_pickup_with_values() -> None:
    pickup, full, _ = measures("r:5 C4:4", pickup=F(1))
    assert signs(pickup) == "rquarter"
    assert signs(full) == "bar rest"


@pytest.mark.slow
def test_a_note_over_a_bar_of_hundreds_of_beats_is_cut() -> None:
    [measure] = measures("C4:1999/2", 1999, 8)
    pieces = measure.pieces
    assert (pieces[0].onset, pieces[-1].end) == (0, F(1999, 2))
    assert all(one.end == after.onset and one.value for one, after in pairwise(pieces))
