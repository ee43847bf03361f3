"""A lesson's tab read back: as it was printed it says nothing new, and every hole that is changed is found."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import find_route, load_player
from reedpath.errors import ReadError
from reedpath.harp import check_move, format_move, make_harp, notation_names, parse_move, reach_of, tuning_names
from reedpath.lesson import make_lesson
from reedpath.page import format_tab, read_tab
from reedpath.phrase import Event, Metre, Ornaments, Part, Phrase, Tempo, performed
from reedpath.readers import read_phrase
from reedpath.wording import load_catalogue
from support.built_phrases import line_of
from support.drawn_routes import alphabet_route, dense_route, opening_route
from support.examples import examples


def lesson_of(route, notation="sign", language="en"):
    return make_lesson(route, title="Porch | light", notation=notation, languages=[language])


def printed(lesson) -> str:
    return format_tab(lesson, catalogue=load_catalogue(lesson.languages[0]))


def read(lesson, text):
    return read_tab(text, lesson, printed(lesson))


@pytest.mark.parametrize("notation", notation_names())
@pytest.mark.parametrize("route", [opening_route(), alphabet_route(), dense_route()])
def test_a_tab_as_it_was_printed_changes_nothing(route, notation):
    lesson = lesson_of(route, notation, "fr")
    found = read(lesson, printed(lesson))
    assert (found.moves, found.whole) == ({}, True)


@st.composite
def phrases(draw) -> Phrase:
    """Phrases with pickups, metres, rests, ornaments, grace notes, chords and repeats."""
    metre = draw(st.sampled_from([(4, 4), (3, 4), (6, 8), (5, 8), (2, 2)]))
    figure = draw(st.lists(st.tuples(st.integers(57, 84), st.sampled_from([1, 2, 3, 4])), min_size=2, max_size=9))
    ornaments = st.sampled_from([Ornaments()] * 6 + [
        Ornaments(bend_in=Fraction(1)), Ornaments(release=Fraction(1)), Ornaments(vibrato=True),
        Ornaments(slide_from=60),
    ])  # fmt: skip
    pickup = draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1, 2)]))
    events, onset = [], Fraction(0)
    for _ in range(draw(st.integers(1, 3))):
        for midi, eighths in figure:
            graces = (midi - 2,) if eighths == 4 else ()
            given_ornaments = Ornaments(graces=graces) if graces else draw(ornaments)
            notes = (midi, midi + 4) if eighths == 3 else (midi,)
            events.append(Event(onset, Fraction(eighths, 2), notes, given_ornaments))
            onset += Fraction(eighths, 2) + draw(st.sampled_from([0, 0, 0, 0, 1]))
    return Phrase(
        tuple(events),
        "Many ways",
        metres=(Metre(Fraction(0), *metre),),
        pickup=pickup,
        tempos=(Tempo(Fraction(0), 90.0),),
    )


@pytest.mark.slow
@examples(60)
@given(
    phrase=phrases(),
    notation=st.sampled_from(notation_names()),
    tuning=st.sampled_from(tuning_names()),
    level=st.sampled_from(["first-months", "steady", "advanced"]),
    data=st.data(),
)
def test_every_hole_that_is_changed_is_found_in_the_tab_of_any_lesson(phrase, notation, tuning, level, data):
    harp = make_harp("A", tuning)
    lesson = lesson_of(find_route(phrase, harp, player=load_player(level)), notation)
    text = printed(lesson)
    assert read(lesson, text).moves == {}
    plain = [
        index for index, one in enumerate(lesson.route.events) if one.choice.move is not None and not one.event.grace
    ]
    if not plain:
        return
    # the first time that a note is printed it may stand for its repeats too
    row = next(number for number, line in enumerate(text.splitlines()) if re.match(r"\s*\d*\s*\|.*\|$", line))
    lines = text.splitlines()
    first = re.search(r"\|\s+((?:[(\[][^|]*?[)\]]|[^\s|()])+)", lines[row])
    if first is None or first[1] in {"·", ",", "×"}:
        return
    move = data.draw(st.sampled_from([one for one in reach_of(harp.tuning).single if not one.is_dip]))
    check_move(move, harp.tuning)
    lines[row] = lines[row][: first.start(1)] + format_move(move, notation) + lines[row][first.end(1) :]
    moves = read(lesson, "\n".join(lines) + "\n").moves
    assert set(moves.values()) <= {move}
    assert moves or format_move(move, notation) in first[1]


def steps_lesson():
    phrase = line_of("A4 B4 C#5 E5 F#5 E5 C#5 B4 A4 B4 C#5 E5 F#5 E5 C#5 B4")
    parts = (Part("Call", Fraction(0), Fraction(4)), Part("Answer", Fraction(4), Fraction(8)))
    return lesson_of(find_route(replace(phrase, parts=parts), make_harp("A")))


def test_a_note_that_stands_for_its_repeats_is_changed_in_all_of_them():
    lesson = steps_lesson()
    text = printed(lesson)
    assert sum(line.endswith("|") for line in text.splitlines()) == 1
    found = read(lesson, text.replace("| +4  -4 ", "| +4  4  ", 1))
    assert found.moves == {1: parse_move("4"), 9: parse_move("4")}
    assert found.whole


def test_bars_that_are_played_again_are_read_too():
    source = b"harp: A\n|: -2 3 4 5 | 6 -6 6 5 :|\n| 4 -4 5 -5 | -2 -2 -2 -2 |\n"
    phrase = performed(read_phrase(source, name="twice.txt"))
    lesson = lesson_of(find_route(phrase, make_harp("A")))
    text = format_tab(lesson, fold_repeats=True)
    assert read(lesson, text).moves == {}
    moves = read(lesson, text.replace("-5", " 5")).moves
    assert moves == {
        one: parse_move("5") for one in range(16, 20) if lesson.route.events[one].choice.move == parse_move("-5")
    }


def test_a_breath_or_a_line_of_her_own_is_told_to_be_more_than_notes():
    lesson = steps_lesson()
    text = printed(lesson)
    assert not read(lesson, text + "\nMy own line.\n").whole
    assert read(lesson, text.replace("Tab (", "Tab  (")).whole
    assert not read(lesson, text.replace("-4  |", "-4, |", 1)).whole


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("| +4  ", "| +4 5 ", "page.tab_notes"),
        ("| +4  ", "|     ", "page.tab_notes"),
        ("| +4  ", "| -9'' ", "harp.no_such_move"),
        ("| +4  ", "| xy  ", "harp.no_move"),
        ("| +4  ", "| 4»5 ", "page.tab_run"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line(old, new, key):
    lesson = steps_lesson()
    text = printed(lesson)
    assert old in text
    with pytest.raises(ReadError) as caught:
        read(lesson, text.replace(old, new, 1))
    assert caught.value.key == key
    line = next(number for number, row in enumerate(text.splitlines(), start=1) if old in row)
    assert caught.value.where.line == line


def test_a_tab_without_a_row_is_told():
    lesson = steps_lesson()
    text = "\n".join(line for line in printed(lesson).splitlines() if "|" not in line)
    with pytest.raises(ReadError) as caught:
        read(lesson, text)
    assert caught.value.key == "page.tab_notes"
