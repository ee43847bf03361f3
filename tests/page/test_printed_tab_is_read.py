"""What is printed as tab is read as tab: the same moves at the same times, for as long."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.arrange import Route
from reedpath.harp import Move, notation_names
from reedpath.lesson import Lesson, make_lesson
from reedpath.page import format_tab
from reedpath.page.score.sheet import sheet_of
from reedpath.phrase import Metre, Ornaments
from reedpath.readers import DEFAULT_LIMITS, find_reader, read_phrase
from reedpath.readers.harmonica_tab import typed_moves
from reedpath.wording import load_catalogue
from support.examples import examples
from support.lesson_routes import routes
from support.routes import choose, lesson_of, phrase_of, route_of

COMMON = (Metre(F(0), 4, 4),)


def played(source: Route | Lesson) -> list[tuple[F, F, Move]]:
    """Onset, length and move of every main note that is played, as it is written."""
    sheet = sheet_of(source)
    found = ((note, sheet.event(note).choice.move) for note in sheet.notes)
    return [(note.onset, note.end - note.onset, move) for note, move in found if move is not None]


def read(text: str) -> list[tuple[F, F, Move]]:
    data = text.encode()
    assert find_reader(data, name="tab.txt").name == "harmonica-tab"
    phrase = read_phrase(data, name="tab.txt", format="harmonica-tab")
    moves = typed_moves(data, limits=DEFAULT_LIMITS).moves
    return [
        (one.onset, one.duration, moves[one.place.line or 0, one.place.column or 0])
        for one in phrase.events
    ]  # fmt: skip


@examples(25)
@given(route=routes(most=24, labelled=True), notation=st.sampled_from(notation_names()), told=st.integers(0, 3))
def test_what_is_printed_is_read_back(route: Route, notation: str, told: int) -> None:
    lesson = make_lesson(route, title="Tide *table*", notation=notation, languages=["en", "fr"])
    source = route if told == 3 else lesson
    text = format_tab(
        source, notation=notation, catalogue=load_catalogue(("en", "fr")[told % 2]), note_names=told == 1,
        ascii_only=told == 2,
    )  # fmt: skip
    wanted = played(source)
    if wanted:
        assert read(text) == wanted, text


def heard(text: str, *options: str) -> list[Ornaments]:
    return [one.ornaments for one in read_phrase(text.encode(), name="tab.txt").events]


def test_glides_runs_and_signs_are_read_as_what_they_say() -> None:
    route = route_of(phrase_of("D5:1 Bb4:1 D5:1 E5:1", metres=COMMON))
    four, five = Move((4,), route.events[3].choice.move.breath), route.events[3].choice.move
    route = choose(route, 0, attack_semitones=-1.0)
    route = choose(route, 1, attack_semitones=1.0)
    route = choose(route, 2, fall_semitones=-1.0, lead_in=(five,))
    route = choose(route, 3, lead_in=(four,), lead_out=(five, four))
    text = format_tab(route)
    assert text.splitlines()[-1].split()[2:-1:2] == ["-4'›-4", "-3›-3'›-3'", "+5»-4›-4'", "+4»+5«+5«+4"]
    assert heard(text) == [
        Ornaments(bend_in=F(1)), Ornaments(), Ornaments(release=F(1), graces=(76,)),
        Ornaments(graces=(72,), slide_to=72),
    ]  # fmt: skip


def test_a_part_that_is_only_named_is_played() -> None:
    riff = "C5:1 D5:1 E5:2 "
    lesson = lesson_of(
        route_of(phrase_of(riff + "G5:4 " + riff, metres=COMMON)),
        parts=[("A", 0, 2, None), ("B", 3, 3, None), ("C", 4, 6, 0)],
    )
    text = format_tab(lesson)
    assert "[C] as part A" in text
    assert read(text) == played(lesson)
    phrase = read_phrase(text.encode(), name="tab.txt")
    assert [(one.label, one.onset, one.end) for one in phrase.parts] == [("A", 0, 4), ("B", 4, 8), ("C", 8, 12)]


def test_metres_that_change_are_printed_and_read() -> None:
    metres = (Metre(F(0), 4, 4), Metre(F(4), 6, 8), Metre(F(7), 3, 4), Metre(F(9), 3, 4))
    route = route_of(phrase_of("C5:4 D5:3/2 E5:3/2 G5:2 C5:3", metres=metres))
    text = format_tab(route)
    assert [line.split()[0] for line in text.splitlines()[8:] if "/" in line] == ["6/8", "(1/2)"]
    assert read(text) == played(route)


def test_a_rest_begins_where_the_note_ends() -> None:
    route = route_of(phrase_of("C5:1/3 r:2/3 D5:3/4 r:1/4 E5:2", metres=COMMON))
    counts, _ = format_tab(route).splitlines()[-2:]
    assert counts.split() == ["1", "1/3", "&", "2", "&", "a", "3", "&", "4", "&"]
    assert read(format_tab(route)) == played(route)


def test_a_note_without_a_count_of_its_own_is_told() -> None:
    from reedpath.errors import ReadError

    text = "harp: C\n\n    1   2   2   4\n  | 4   -4  5   6   |\n"
    with pytest.raises(ReadError) as caught:
        read_phrase(text.encode(), name="tab.txt")
    assert caught.value.key == "tab.no_count"
    assert (caught.value.where.line, caught.value.where.column) == (4, 9)
