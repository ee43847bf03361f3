"""Fret tab: what stands on the strings, sign by sign."""

from fractions import Fraction as F

import pytest

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import Event, Ornaments, Phrase
from reedpath.readers import read_phrase

# notes of the standard guitar used below, MIDI
G3, D4, E4, FS4, G4, A4, B4 = 55, 62, 64, 66, 67, 69, 71


def read(text: str, **options: str | int | bool) -> Phrase:
    return read_phrase(text.encode(), format="fret-tab", options=options)


def on_string(body: str, string: int = 3, **options: str | int | bool) -> Phrase:
    """A guitar tab with one string filled, the others empty; string 1 is the high one."""
    rest = "".join("|" if character == "|" else "-" for character in body)
    lines = [f"{name}|{body if number == string else rest}|" for number, name in enumerate("eBGDAE", start=1)]
    return read("\n".join(lines), **options)


def one(body: str, string: int = 3) -> Event:
    (event,) = on_string(body, string).events
    return event


def pitches(phrase: Phrase) -> list[tuple[int, ...]]:
    return [event.midi for event in phrase.events]


@pytest.mark.parametrize(("string", "open_midi"), [(1, 64), (2, 59), (3, 55), (4, 50), (5, 45), (6, 40)])
def test_open_strings_and_two_digit_frets(string, open_midi):
    assert pitches(on_string("-0---12--", string)) == [(open_midi,), (open_midi + 12,)]


@pytest.mark.parametrize(
    ("body", "midi", "bend_in", "release", "cents"),
    [
        ("-7b9----", E4, 2, 0, ()),
        ("-7b(9)--", E4, 2, 0, ()),
        ("-7b8----", E4 - 1, 1, 0, ()),
        ("-7b-----", E4, 2, 0, ()),
        ("-7bf----", E4, 2, 0, ()),
        ("-7bfull-", E4, 2, 0, ()),
        ("-7bhalf-", E4 - 1, 1, 0, ()),
        ("-7b1/2--", E4 - 1, 1, 0, ()),
        ("-7b½----", E4 - 1, 1, 0, ()),
        ("-7b1½---", E4 + 1, 3, 0, ()),
        ("-7b¼----", D4, F(1, 2), 0, (50.0,)),
        ("-7b1/4--", D4, F(1, 2), 0, (50.0,)),
        ("-7b1----", E4, 2, 0, ()),
        ("-7b2----", FS4, 4, 0, ()),
        ("-7^9----", E4, 2, 0, ()),
        ("-7b9r7--", E4, 2, 2, ()),
        ("-7b9r---", E4, 2, 2, ()),
        ("-7b9r8--", E4, 2, 1, ()),
        ("-7b9--r7", E4, 2, 2, ()),
        ("-7b9b10-", E4 + 1, 3, 0, ()),
        ("-7br9---", E4, 2, 2, ()),
        ("-7pb9---", E4, 0, 0, ()),
        ("-7pb9r7-", E4, 0, 2, ()),
        ("-pb7----", E4, 0, 0, ()),
        ("-pb7b8--", E4 - 1, 0, 0, ()),
        ("-9r7----", E4, 0, 2, ()),
        ("-(7b9)--", E4, 2, 0, ()),
    ],
)
def test_bends_arrive_at_the_pitch_of_the_event(body, midi, bend_in, release, cents):
    event = one(body)
    assert (event.midi, event.cents) == ((midi,), cents)
    assert event.ornaments == Ornaments(bend_in=F(bend_in), release=F(release))


def test_a_release_to_a_lower_fret_is_a_pull_off_too():
    bent, pulled = on_string("-7b9r5--------").events
    assert bent.ornaments == Ornaments(bend_in=F(2), release=F(2))
    assert pulled.midi == (60,)


def test_bent_again_after_a_release_is_a_note_of_its_own():
    first, second = on_string("-7b9r7b9-----").events
    assert first.ornaments == Ornaments(bend_in=F(2), release=F(2))
    assert (second.midi, second.ornaments.bend_in) == ((E4,), 2)


def test_hammer_ons_and_pull_offs_are_notes_of_their_own():
    assert pitches(on_string("-5h7p5---7-h-9-t12--")) == [(60,), (62,), (60,), (62,), (64,), (67,)]


def test_slides_between_notes_and_from_and_to_nowhere():
    first, second = on_string("-5/7-----").events
    assert first.ornaments == Ornaments()
    assert second.ornaments == Ornaments(slide_from=60)
    assert on_string("-5s7-----").events[1].ornaments == Ornaments(slide_from=60)
    assert on_string("-7\\5----").events[1].ornaments == Ornaments(slide_from=62)
    assert one("---/7---").ornaments == Ornaments(slide_from=60)
    assert one("---\\7---").ornaments == Ornaments(slide_from=64)
    assert one("-7\\-----").ornaments == Ornaments(slide_to=59)
    assert one("-7/-----").ornaments == Ornaments(slide_to=65)
    out, after = on_string("-7\\---5-").events
    assert (out.ornaments, after.ornaments) == (Ornaments(slide_to=59), Ornaments())


def test_a_slide_from_a_bent_note_starts_where_the_bend_arrived():
    assert on_string("-5b7/9----").events[1].ornaments.slide_from == 62


def test_vibrato_accent_and_holding():
    assert one("-7~~~---").ornaments.vibrato
    assert one("-7v-----").ornaments.vibrato
    assert one("-7b9~~--").ornaments == Ornaments(bend_in=F(2), vibrato=True)
    assert one("->7-----").ornaments.accent
    assert one("-7>-----").ornaments.accent


def test_a_held_note_sounds_on_into_the_next_bar():
    phrase = on_string("-7---====|====----5----")
    assert [(e.onset, e.duration) for e in phrase.events] == [(0, 5), (6, 2)]


def test_grace_notes():
    (event,) = on_string("-g5-7----").events
    assert (event.midi, event.ornaments.graces) == ((62,), (60,))


def test_natural_harmonics_sound_their_partial():
    assert one("-<12>---").midi == (G3 + 12,)
    assert one("-<7>----").midi == (G3 + 19,)
    assert one("-<5>----").midi == (G3 + 24,)
    assert one("-[12]---").midi == (G3 + 12,)
    assert one("-7*-----").midi == (G3 + 19,)


def test_muted_strokes_end_a_note_and_are_counted():
    phrase = on_string("-7---x---x---x---")
    assert [(e.onset, e.duration) for e in phrase.events] == [(0, 1)]
    assert [(one.kind, one.count) for one in phrase.left_out if "muted" in one.what] == [("muted-strokes", 3)]


def test_ghost_notes_and_trills_are_played_and_said():
    phrase = on_string("-(7)---5tr7------")
    assert pitches(phrase) == [(62,), (60,)]
    assert {one.kind for one in phrase.left_out} >= {"ghost-notes", "trills"}


def test_chords_stand_in_one_column_however_wide():
    phrase = read(
        "e|-10---0---|\n"
        "B|--8---1---|\n"
        "G|--9---x---|\n"
        "D|-10-------|\n"
        "A|----------|\n"
        "E|----------|\n"
    )  # fmt: skip
    assert pitches(phrase) == [(60, 64, 67, 74), (60, 64)]


def test_two_notes_bent_apart_stay_two_events():
    phrase = read(
        "e|-8------|\n"
        "B|-8b10---|\n"
        "G|--------|\n"
        "D|--------|\n"
        "A|--------|\n"
        "E|--------|\n"
    )  # fmt: skip
    assert sorted((e.midi, e.ornaments.bend_in) for e in phrase.events) == [((69,), 2), ((72,), 0)]


@pytest.mark.parametrize(
    ("body", "column", "message"),
    [
        ("--q-----", 5, "unknown sign 'q'"),
        ("-57-----", 4, "fret 57; 0 to 36"),
        ("-121----", 4, "fret 121; 0 to 36"),
        ("--b9----", 5, "a bend without a note"),
        ("-7b5----", 5, "a bend 'b5' from fret 7"),
        ("-2b12---", 5, "a bend 'b12' from fret 2"),
        ("-7r-----", 5, "a release of a string that is not bent"),
        ("-7b9r9--", 7, "a release from 9 to fret 9"),
        ("-(7-----", 4, "a bracket that is not closed"),
        ("-((7)---", 5, "a bracket inside a bracket"),
        ("-7)-----", 5, r"unknown sign '\)'"),
        ("-xb9----", 5, "a bend without a note"),
        ("-tr7----", 4, "a trill without a note"),
    ],
)
def test_what_cannot_be_read_is_said_with_line_and_column(body, column, message):
    with pytest.raises(ReadError, match=rf"line 3, column {column}: {message}"):
        on_string(body)


def test_every_event_knows_its_place():
    assert [in_english(event.place) for event in on_string("-5---7---").events] == [
        "line 3, column 4",
        "line 3, column 8",
    ]


# -- legends -------------------------------------------------------------------------------------------


def with_legend(legend: str, body: str) -> Phrase:
    rest = "".join("|" if character == "|" else "-" for character in body)
    return read(f"{legend}\n\ne|{rest}|\nB|{rest}|\nG|{body}|\n" + "\n".join(f"{n}|{rest}|" for n in "DAE"))


def test_the_files_own_legend_overrides_custom():
    assert not with_legend("v = down-stroke", "-7v------").events[0].ornaments.vibrato
    assert with_legend("^ = vibrato", "-7^------").events[0].ornaments.vibrato
    assert with_legend("w : vibrato (wide)", "-7w------").events[0].ornaments.vibrato
    assert with_legend("= = vibrato", "-7=------").events[0].ornaments.vibrato
    assert with_legend("s - hammer-on, z - slide", "-5s7-z9--").events[2].ornaments.slide_from == 62


def test_a_legend_can_say_what_brackets_mean():
    phrase = with_legend("(n) = tied note", "-7--|-(7)-----")
    assert len(phrase.events) == 1
    assert phrase.events[0].duration > 4
    assert with_legend("[n] : dead note", "-[7]--7---").events[0].midi == (62,)


def test_words_that_look_like_a_legend_without_a_technique_change_nothing():
    assert with_legend("b = the second verse", "-7b9-----").events[0].ornaments.bend_in == 2
