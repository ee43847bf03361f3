"""String bends in MusicXML: arrival, release, pre-bend, bar, ties and grace notes; scores of our own."""

from fractions import Fraction

import pytest

from reedpath.readers import read_phrase
from support.written_sources import measure, note, score

HALF = Fraction(1, 2)


def bend(alter: str, kind: str = "") -> str:
    return f"<bend><bend-alter>{alter}</bend-alter>{kind}</bend>"


def technical(*bends: str) -> str:
    return f"<technical>{''.join(bends)}</technical>"


def events(*notes: str):
    return read_phrase(score(measure(*notes)), format="musicxml")


def shape(event):
    return event.midi[0], event.ornaments.bend_in, event.ornaments.release, event.cents


@pytest.mark.parametrize(
    ("bends", "expected"),
    [
        ([bend("2")], (62, 2, 0, ())),
        ([bend("1")], (61, 1, 0, ())),
        ([bend("2"), bend("-2", "<release/>")], (62, 2, 2, ())),
        ([bend("2"), bend("-1", "<release/>")], (62, 2, 1, ())),
        ([bend("2"), bend("2", "<release/>")], (62, 2, 2, ())),  # a release written without its minus
        ([bend("-2", "<pre-bend/>")], (62, 0, 0, ())),
        ([bend("2", "<pre-bend/>")], (62, 0, 0, ())),
        ([bend("-2", "<pre-bend/>"), bend("-2", "<release/>")], (62, 0, 2, ())),
        ([bend("1"), bend("1")], (62, 2, 0, ())),
        ([bend("0.5")], (60, HALF, 0, (50.0,))),
        ([bend("1.5")], (61, Fraction(3, 2), 0, (50.0,))),
        ([bend("-2")], (60, 0, 2, ())),
        ([bend("-1", "<with-bar>scoop</with-bar>")], (60, 1, 0, ())),
        ([bend("0")], (60, 0, 0, ())),
    ],
)
def test_bends_on_one_note(bends, expected):
    assert shape(events(note("C4", 16, notations=technical(*bends))).events[0]) == expected


def test_a_bend_after_a_release_is_named():
    again = technical(bend("2"), bend("-2", "<release/>"), bend("2"))
    phrase = events(note("C4", 16, notations=again))
    assert shape(phrase.events[0]) == (62, 2, 2, ())
    assert [each.what for each in phrase.left_out] == ["bends up and down within a note, after the first"]


def test_a_dip_of_the_bar_is_named():
    phrase = events(note("C4", 16, notations=technical(bend("-1", "<with-bar>dip</with-bar>"))))
    assert shape(phrase.events[0]) == (60, 0, 0, ())
    assert [each.what for each in phrase.left_out] == ["dips of the bar"]


def test_a_bend_held_over_a_tie_and_let_go_in_the_second_note():
    first = note("C4", 8, tie="start", notations=technical(bend("2")))
    second = note("C4", 8, tie="stop", notations=technical(bend("-2", "<release/>")))
    (event,) = events(first, second).events
    assert shape(event) == (62, 2, 2, ())
    assert event.duration == 4


def test_a_grace_note_bent_into_its_note_is_the_bend():
    grace = note("C4", 0, inside="<grace/>", notations=technical(bend("2")))
    (event,) = events(grace, note("D4", 16)).events
    assert shape(event) == (62, 2, 0, ())
    assert event.ornaments.graces == ()


def test_a_grace_note_bent_elsewhere_stays_a_grace_note():
    grace = note("C4", 0, inside="<grace/>", notations=technical(bend("1")))
    phrase = events(grace, note("G4", 16))
    assert phrase.events[0].ornaments.graces == (60,)
    assert [each.what for each in phrase.left_out] == ["bends of grace notes"]


def test_a_grace_note_of_the_same_pitch_that_is_not_bent_stays_a_grace_note():
    (event,) = events(note("C4", 0, inside="<grace/>"), note("C4", 16)).events
    assert (shape(event), event.ornaments.graces) == ((60, 0, 0, ()), (60,))


def test_one_bent_note_of_two_stands_apart():
    low = note("C4", 16, notations=technical(bend("2")))
    phrase = events(low, note("G4", 16, chord=True))
    assert sorted(shape(event) for event in phrase.events) == [(62, 2, 0, ()), (67, 0, 0, ())]


def test_a_bend_moves_with_its_transposition():
    first = "<divisions>4</divisions><transpose><chromatic>-12</chromatic></transpose>"
    phrase = read_phrase(score(measure(note("C5", 16, notations=technical(bend("2")))), first=first))
    assert shape(phrase.events[0]) == (62, 2, 0, ())


def test_a_slide_begins_at_the_height_of_the_bend():
    bent = note("C4", 8, notations=technical(bend("2")) + '<slide type="start"/>')
    phrase = events(bent, note("G4", 8, notations='<slide type="stop"/>'))
    assert phrase.events[1].ornaments.slide_from == 62


@pytest.mark.parametrize(
    ("bends", "expected"),
    [
        ([bend("-2", "<pre-bend/>")], (60, 0, 0, ())),
        ([bend("-2", "<pre-bend/>"), bend("1", "<release/>")], (60, 1, 0, ())),
        ([bend("-1")], (60, 0, 1, ())),
        ([bend("-1", "<pre-bend/>"), bend("1", "<release/>"), bend("-2")], (60, 1, 2, ())),
    ],
)
def test_a_wind_instrument_sounds_as_it_is_written(bends, expected):
    data = score(measure(note("C4", 16, notations=technical(*bends))), sound="wind.reed.harmonica")
    assert shape(read_phrase(data).events[0]) == expected
