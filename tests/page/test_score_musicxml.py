from __future__ import annotations

from fractions import Fraction as F
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.harp import Breath, Move
from reedpath.page.score.musicxml import encode_musicxml, score_of
from reedpath.page.score.spelling import spell
from reedpath.phrase import Event, Metre, Ornaments, Phrase, Tempo, bars, performed
from reedpath.pitch import Key, key_fifths
from reedpath.readers import read_phrase
from reedpath.wording import load_catalogue
from support.examples import examples
from support.musicxml_schema import assert_valid
from support.routes import choose, lesson_of, phrase_of, route_of
from support.spent_bytes import SpentBytes, built_from_bytes

COMMON = (Metre(F(0), 4, 4),)


def repeats_of(lesson):
    return score_of(lesson, load_catalogue("en"), fold_repeats=True).repeated


def score(route: Route, **options: object) -> ET.Element:
    data = encode_musicxml(route, **options)  # type: ignore[arg-type]
    assert_valid(data)
    return ET.fromstring(data)


def texts(root: ET.Element, path: str) -> list[str]:
    return [(one.text or "").replace("\u2009", " ") for one in root.findall(path)]


def tab(root: ET.Element) -> list[str]:
    return texts(root, ".//lyric[@number='1']/text")


def note(root: ET.Element, name: str) -> ET.Element:
    return next(one for one in root.iter("note") if one.get("id") == name)


def ornamented(route: Route, index: int, ornaments: Ornaments) -> Route:
    events = list(route.events)
    events[index] = replace(events[index], event=replace(events[index].event, ornaments=ornaments))
    return replace(route, events=tuple(events))


def test_every_note_has_its_tab_and_tied_pieces_have_none() -> None:
    root = score(route_of(phrase_of("C5:1 D5:5 G4+B4:2", metres=COMMON)))
    assert tab(root) == ["+4", "-4", "-(2 3)"]
    assert texts(root, ".//technical/other-technical") == ["4 blow", "4 draw", "2+3 draw"]


def test_tab_follows_the_notation_asked_for() -> None:
    route = route_of(phrase_of("Bb4:4", metres=COMMON))
    assert tab(score(lesson_of(route, notation="arrow").route, notation="letters-fr")) == ["3A'"]
    assert tab(ET.fromstring(encode_musicxml(lesson_of(route, notation="arrow")))) == ["↓3'"]


def test_head_names_harp_instrument_and_sound() -> None:
    root = score(route_of(phrase_of("C5:4", metres=COMMON, key=Key(7), title="A & B <x>")))
    assert root.findtext("work/work-title") == root.findtext("movement-title") == "A & B <x>"
    assert root.findtext(".//instrument-sound") == "wind.reed.harmonica"
    assert root.findtext(".//midi-program") == "23"
    assert root.findtext(".//part-name") == "C harp, second position"
    fields = {one.get("name"): one.text for one in root.iter("miscellaneous-field")}
    assert fields["reedpath-harp"] == "C"
    assert fields["reedpath-position"] == "2"


def test_key_metre_and_tempo_are_told() -> None:
    phrase = phrase_of(
        "C5:3/2 D5:3/2 E5:3",
        metres=(Metre(F(0), 6, 8), Metre(F(3), 3, 4)),
        key=Key(5, "minor"),
        tempos=(Tempo(F(0), 90.0), Tempo(F(3), 120.0)),
    )
    root = score(route_of(phrase))
    assert (root.findtext(".//fifths"), root.findtext(".//key/mode")) == ("-4", "minor")
    assert texts(root, ".//time/beats") == ["6", "3"]
    assert texts(root, ".//per-minute") == ["60", "120"]
    assert [one.get("tempo") for one in root.iter("sound")] == ["90", "120"]
    assert len(root.findall(".//beat-unit-dot")) == 1


def test_swing_is_told_and_sounds() -> None:
    root = score(route_of(phrase_of("C5:4", metres=COMMON, swing=F(3, 2))), catalogue=load_catalogue("fr"))
    assert texts(root, ".//words") == ["Ternaire"]
    assert (root.findtext(".//swing/first"), root.findtext(".//swing/second")) == ("3", "2")
    assert root.findtext(".//swing/swing-type") == "eighth"


@pytest.mark.parametrize(
    ("count", "unit", "beat", "bpm"), [(3, 8, "eighth", "180"), (7, 8, "eighth", "180"), (6, 8, "quarter", "60")]
)
def test_the_score_tells_a_tempo_in_the_beats_that_are_practised(count: int, unit: int, beat: str, bpm: str) -> None:
    phrase = phrase_of("C5:1/2 D5:1/2", metres=(Metre(F(0), count, unit),), tempos=(Tempo(F(0), 90.0),))
    root = score(route_of(phrase))
    assert (texts(root, ".//beat-unit"), texts(root, ".//per-minute")) == ([beat], [bpm])


def test_a_tempo_within_a_note_stands_at_its_own_beat() -> None:
    phrase = phrase_of("C5:4", metres=COMMON, tempos=(Tempo(F(0), 90.0), Tempo(F(5, 2), 60.0)))
    root = score(route_of(phrase))
    divisions = int(root.findtext(".//divisions") or 0)
    assert F(int(root.findtext(".//offset") or 0), divisions) == round(F(5, 2) * divisions) / divisions


def test_bends_add_up_to_the_depth_under_the_natural_note() -> None:
    route = route_of(phrase_of("A4:1 D5:1 D5:1 Bb4:1", metres=COMMON))
    route = choose(route, 1, attack_semitones=-1.0)
    route = choose(route, 2, fall_semitones=-1.0)
    route = choose(route, 3, attack_semitones=1.0)
    root = score(route)

    def bends(name: str) -> list[tuple[str, str]]:
        found = note(root, name).findall(".//bend")
        return [(one.findtext("bend-alter") or "", one[1].tag if len(one) > 1 else "bend") for one in found]

    assert bends("e0") == [("-2", "pre-bend")]
    assert bends("e1") == [("-1", "pre-bend"), ("1", "release")]
    assert bends("e2") == [("-1", "bend")]
    assert bends("e3") == [("-1", "bend")]
    assert note(root, "e1").find(".//scoop") is not None
    assert note(root, "e2").find(".//falloff") is not None


def test_overblows_are_named() -> None:
    route = choose(route_of(phrase_of("Bb5:4", metres=COMMON)), 0)
    assert texts(score(route), ".//other-technical") == ["6 blow overblow 3"]


def test_grace_notes_are_grace_notes_of_the_written_onset() -> None:
    phrase = phrase_of("D5:2 E5:2", metres=COMMON)
    first = replace(phrase.events[0], ornaments=Ornaments(graces=(69, 72)))
    root = score(route_of(replace(phrase, events=(first, phrase.events[1]))))
    graces = [one for one in root.iter("note") if one.find("grace") is not None]
    assert [one.get("id") for one in graces] == ["e0", "e1"]
    assert all(one.find("duration") is None for one in graces)
    assert F(int(note(root, "e2").findtext("duration") or 0), int(root.findtext(".//divisions") or 1)) == 2
    assert graces[0].find(".//slur[@type='start']") is not None
    assert note(root, "e2").find(".//slur[@type='stop']") is not None


def test_a_grace_note_shows_its_accidental_for_the_whole_bar() -> None:
    phrase = phrase_of("G5:1 F#5:1 G5:1 F5:1", metres=COMMON)
    first = replace(phrase.events[0], ornaments=Ornaments(graces=(78,)))
    root = score(route_of(replace(phrase, events=(first, *phrase.events[1:]))))
    notes = [(one.find("grace") is not None, one.findtext("accidental")) for one in root.iter("note")]
    assert notes == [(True, "sharp"), (False, None), (False, None), (False, None), (False, "natural")]


def test_grace_notes_that_lead_nowhere_are_notes() -> None:
    route = route_of(Phrase((Event(F(0), F(1, 8), (72,), grace=True), Event(F(1), F(1), (74,))), metres=COMMON))
    root = score(route)
    assert root.find(".//grace") is None
    assert tab(root) == ["+4", "-4"]


def test_runs_are_small_notes_before_and_after() -> None:
    route = route_of(phrase_of("G5:4", metres=COMMON))
    move = Move((5,), Breath.BLOW)
    route = choose(route, 0, lead_in=(Move((4,), Breath.BLOW), move), lead_out=(move,))
    root = score(route)
    names = [one.get("id") for one in root.iter("note")]
    assert names == ["e0i0", "e0i1", "e0", "e0o0"]
    assert note(root, "e0o0").find("grace").get("steal-time-previous") == "25"  # type: ignore[union-attr]
    assert tab(root) == ["+4»+5»+6»+5"]


def test_slides_accents_and_vibrato() -> None:
    route = route_of(phrase_of("D5:2 E5:2", metres=COMMON))
    route = ornamented(route, 0, Ornaments(slide_to=76, accent=True))
    route = ornamented(route, 1, Ornaments(vibrato=True))
    root = score(route)
    assert note(root, "e0").find(".//slide[@type='start']") is not None
    assert note(root, "e1").find(".//slide[@type='stop']") is not None
    assert note(root, "e0").find(".//accent") is not None
    assert len(note(root, "e1").findall(".//wavy-line")) == 2


def test_a_breath_is_marked_at_the_end_of_the_note_before() -> None:
    route = choose(route_of(phrase_of("D5:5 E5:3", metres=COMMON)), 1, breathe=True)
    root = score(route)
    marked = [one.get("id") for one in root.iter("note") if one.find(".//breath-mark") is not None]
    assert marked == ["e0t4"]


def test_what_is_not_played_is_a_crossed_cue_note() -> None:
    root = score(route_of(phrase_of("C3:4", metres=COMMON)))
    silent = note(root, "e0")
    assert silent.find("cue") is not None
    assert silent.findtext("notehead") == "x"
    assert tab(root) == ["×"]


def test_parts_have_rehearsal_marks_and_double_bars() -> None:
    route = route_of(phrase_of("C5:4 D5:4 E5:4", metres=COMMON))
    root = ET.fromstring(encode_musicxml(lesson_of(route, parts=[("A", 0, 0, None), ("B", 1, 2, None)])))
    assert texts(root, ".//rehearsal") == ["A", "B"]
    assert texts(root, ".//bar-style") == ["light-light", "light-heavy"]


def test_a_part_within_a_bar_is_named_over_its_own_note() -> None:
    route = route_of(phrase_of("C5:2 D5:2 E5:4", metres=COMMON))
    root = ET.fromstring(encode_musicxml(lesson_of(route, parts=[("A", 0, 0, None), ("B", 1, 2, None)])))
    assert texts(root, ".//rehearsal") == ["A"]
    assert [(one.text, one.get("enclosure")) for one in root.iter("words")] == [("B", "square")]


def test_a_pickup_bar_is_implicit_and_numbered_nought() -> None:
    root = score(route_of(phrase_of("C5:1 D5:4", metres=COMMON, pickup=F(1))))
    found = [(one.get("number"), one.get("implicit")) for one in root.iter("measure")]
    assert found == [("0", "yes"), ("1", None)]


def test_a_doubtful_note_is_marked_over_the_staff() -> None:
    phrase = phrase_of("C5:1 D5:1 E5:2", metres=COMMON)
    events = (phrase.events[0], replace(phrase.events[1], doubtful=True), phrase.events[2])
    root = score(route_of(replace(phrase, events=events)))
    assert texts(root, ".//words") == ["?"]
    measure = next(root.iter("measure"))
    marked = [one.tag for one in measure if one.tag in ("note", "direction")]
    assert marked == ["direction", "note", "direction", "note", "note"]  # the first is the tempo


def test_rounded_rhythm_is_marked_and_named() -> None:
    root = score(route_of(phrase_of("C5:337/480 D5:143/480 E5:3", metres=COMMON)))
    assert texts(root, ".//words") == ["≈", "≈"]
    fields = {one.get("name"): one.text for one in root.iter("miscellaneous-field")}
    assert fields["reedpath-rhythm-rounded"] == "0 1"


def test_accidentals_are_shown_once_in_a_bar() -> None:
    root = score(route_of(phrase_of("Bb4:1 Bb4:1 B4:1 F5:1 Bb4:4", metres=COMMON, key=Key(7))))
    shown = [one.findtext("accidental") for one in root.iter("note")]
    assert shown == ["flat", None, "natural", "natural", "flat"]


def test_very_high_and_low_phrases_move_the_clef() -> None:
    high = score(route_of(phrase_of("C7:1 A6:1 G6:2", metres=COMMON)))
    low = score(route_of(phrase_of("C3:1 E3:3", metres=COMMON), "Low C"))
    middle = score(route_of(phrase_of("C5:4", metres=COMMON)))
    found = [root.findtext(".//clef-octave-change") for root in (high, middle, low)]
    assert found == ["1", None, "-1"]


def test_note_names_stand_on_a_second_line() -> None:
    root = score(route_of(phrase_of("G4+B4:4", metres=COMMON)), note_names=True)
    assert texts(root, ".//lyric[@number='2']/text") == ["G B"]


def test_nothing_to_play_is_one_empty_bar() -> None:
    root = score(route_of(Phrase(())))
    assert len(root.findall(".//measure")) == 1
    assert root.find(".//rest").get("measure") == "yes"  # type: ignore[union-attr]


@pytest.mark.parametrize("title", ["\x00\x1b", "]]>", "<!ENTITY a '&#x0;'>", "\ud800x", "😀 漢字", "a\nb"])
def test_no_title_breaks_the_document(title: str) -> None:
    assert_valid(encode_musicxml(route_of(phrase_of("C5:4", metres=COMMON, title=title))))


def test_the_same_lesson_gives_the_same_bytes() -> None:
    route = route_of(phrase_of("C5:1 D5:1/3 E5:2/3 F5:2", metres=COMMON))
    assert encode_musicxml(route) == encode_musicxml(route)


# (key, MIDI number, does the line go up) -> spelling; common practice, no source
SPELLINGS = [
    (Key(7), 66, False, "F#4"),
    (Key(7), 65, False, "F4"),
    (Key(7), 70, True, "Bb4"),
    (Key(7), 73, True, "C#5"),
    (Key(7), 73, False, "Db5"),
    (Key(4), 68, False, "G#4"),
    (Key(4), 67, False, "G4"),
    (Key(9, "minor"), 68, True, "G#4"),
    (Key(6, "minor"), 65, True, "E#4"),
    (Key(10), 64, False, "E4"),
    (Key(1), 67, False, "G4"),
    (None, 70, False, "Bb4"),
]


@pytest.mark.parametrize(("key", "midi", "goes_up", "name"), SPELLINGS)
def test_pitches_are_spelt_as_the_key_has_them(key: Key | None, midi: int, goes_up: bool, name: str) -> None:
    pitch = spell(midi, key, goes_up=goes_up)
    assert pitch.letter + "#" * pitch.alter + "b" * -pitch.alter + str(pitch.octave) == name


def test_signatures_follow_the_circle_of_fifths() -> None:
    majors = [key_fifths(Key(tonic)) for tonic in range(12)]
    assert majors == [0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5]


ANY_METRES = [(4, 4), (3, 4), (6, 8), (7, 8), (2, 2)]
ANY_KEYS = [None, *(Key(tonic, mode) for tonic in range(12) for mode in ("major", "minor"))]


def any_phrase(drawn: SpentBytes) -> Phrase:
    """Up to ten notes of 1/48 to 3 beats."""
    metre, key = Metre(F(0), *drawn.pick(ANY_METRES)), drawn.pick(ANY_KEYS)
    at, events = F(0), []
    for _ in range(drawn.whole(0, 10)):
        parts = drawn.whole(1, 48)
        events.append(Event(at, F(drawn.whole(-(-parts // 48), 3 * parts), parts), (drawn.whole(55, 100),)))
        at = events[-1].end
    return Phrase(tuple(events), metres=(metre,), key=key)


@examples(60)
@given(built_from_bytes(any_phrase, size=33))
def test_any_phrase_makes_a_valid_document(phrase: Phrase) -> None:
    assert_valid(encode_musicxml(route_of(phrase)))


RIFF = "C5:1 D5:1 E5:2 "


def test_a_part_that_comes_again_at_once_is_written_between_repeat_signs() -> None:
    route = route_of(phrase_of(RIFF * 3 + "G5:4 " + RIFF, metres=COMMON))
    parts = [("A", 0, 2, None), ("A", 3, 5, 0), ("A", 6, 8, 0), ("B", 9, 9, None), ("A", 10, 12, 0)]
    data = encode_musicxml(lesson_of(route, parts=parts), fold_repeats=True)
    assert_valid(data)
    root = ET.fromstring(data)
    assert [one.get("number") for one in root.iter("measure")] == ["1", "4", "5"]
    assert [(one.get("direction"), one.get("times")) for one in root.iter("repeat")] == [
        ("forward", None),
        ("backward", "3"),
    ]
    assert len(ET.fromstring(encode_musicxml(lesson_of(route, parts=parts))).findall(".//measure")) == 5


SECTION = RIFF + "G5:4 "


@pytest.mark.parametrize(
    "parts",
    [
        [("A (1)", 0, 2, None), ("A (2)", 3, 3, None), ("A (1)", 4, 6, 0), ("A (2)", 7, 7, 1), ("B", 8, 8, None)],
        # the second time is cut elsewhere, or not at all
        [("A (1)", 0, 2, None), ("A (2)", 3, 3, None), ("A", 4, 7, None), ("B", 8, 8, None)],
    ],
)
def test_a_section_that_is_cut_into_parts_is_folded_as_a_whole(parts) -> None:
    lesson = lesson_of(route_of(phrase_of(SECTION * 2 + "C5:4", metres=COMMON)), parts=parts)
    root = ET.fromstring(encode_musicxml(lesson, fold_repeats=True))
    assert [one.get("number") for one in root.iter("measure")] == ["1", "2", "5"]
    assert [one.get("direction") for one in root.iter("repeat")] == ["forward", "backward"]
    assert [(one.first, one.count, one.times) for one in repeats_of(lesson)] == [(0, 2, 2)]


def test_what_the_source_repeats_is_folded_wherever_its_parts_are_cut() -> None:
    text = b"X:1\nM:4/4\nL:1/4\nK:C\n|:c d e f|g f e d:|c4|\n"
    route = route_of(performed(read_phrase(text, name="twice.abc")))
    lesson = lesson_of(route, parts=[("A", 0, 2, None), ("B", 3, 12, None), ("C", 13, 16, None)])
    assert [(one.first, one.count, one.times) for one in repeats_of(lesson)] == [(0, 2, 2)]


def test_endings_that_differ_stand_under_brackets_where_the_source_has_them() -> None:
    text = b"X:1\nM:4/4\nL:1/4\nK:C\n|:c d e f|g f e d|1 c4:|2 e4||g4|\n"
    route = route_of(performed(read_phrase(text, name="endings.abc")))
    lesson = lesson_of(route, parts=[("A", 0, 8, None), ("B", 9, 18, None)])
    found = [(one.first, one.count, one.times, one.ending, one.other) for one in repeats_of(lesson)]
    assert found == [(0, 3, 2, 1, 1)]
    data = encode_musicxml(lesson, fold_repeats=True)
    assert_valid(data)
    root = ET.fromstring(data)
    measures = [one.get("number") for one in root.iter("measure")]
    assert measures == ["1", "2", "3", "4", "5"]
    assert [(one.get("number"), one.get("type"), one.text) for one in root.iter("ending")] == [
        ("1", "start", "1."),
        ("1", "stop", None),
        ("2", "start", "2."),
        ("2", "discontinue", None),
    ]
    again = performed(read_phrase(data, name="endings.musicxml"))
    assert [one.midi for one in again.events] == [one.midi for one in route.phrase.events]
    assert [one.onset for one in again.events] == [one.onset for one in route.phrase.events]


@pytest.mark.parametrize(
    "text",
    [
        b"|:c d e f|g f e d|1 c4:|2 e4||g4|",
        b"|:c d e f|g f e d|1 c4|d4:|2 e4|f4||g4|",
        b"|:c d e f|1 c4:|2 e4|:g4|1 a4:|2 b4|",
        b"|:c4|c4:|e4|:g4|1 a4:|2 b4|c4",
        b"|:c4|d4|1 e4:|2 f4|c4|d4|e4",
        b"|:c d e f:|g4|",
        b"|:G|c d e f|g f e d|1 c3:|2 e3||G|g4|",
        b"G|c d e f|g f e d|c3:|G|g4|",
        b"G|c d e f|g f e d|c3:|:B|e d c B|c3:|",
    ],
)
def test_a_folded_score_is_read_as_what_was_played(text: bytes) -> None:
    route = route_of(performed(read_phrase(b"X:1\nM:4/4\nL:1/4\nK:C\n" + text, name="tune.abc")))
    lesson = lesson_of(route, parts=[("A", 0, len(route.events) - 1, None)])
    data = encode_musicxml(lesson, fold_repeats=True)
    assert len(ET.fromstring(data).findall(".//measure")) < len(bars(route.phrase))
    again = performed(read_phrase(data, name="tune.musicxml"))
    assert [(one.onset, one.midi) for one in again.events] == [(one.onset, one.midi) for one in route.phrase.events]


@pytest.mark.parametrize("second", ["C5:1 D5:1 E5:1 F5:1", "C5:1 D5:1 r:2", "C5:1 D5:2 E5:1"])
def test_a_part_with_another_end_is_written_again(second: str) -> None:
    route = route_of(phrase_of(RIFF + second, metres=COMMON))
    parts = [("A", 0, 2, None), ("B", 3, len(route.events) - 1, None)]
    root = ET.fromstring(encode_musicxml(lesson_of(route, parts=parts), fold_repeats=True))
    assert root.find(".//repeat") is None


def test_a_note_held_into_the_next_time_prevents_a_repeat() -> None:
    events = (Event(F(0), F(4), (72,)), Event(F(4), F(8), (72,)))
    route = route_of(Phrase(events, metres=COMMON))
    root = ET.fromstring(
        encode_musicxml(lesson_of(route, parts=[("A", 0, 0, None), ("B", 1, 1, None)]), fold_repeats=True)
    )
    assert root.find(".//repeat") is None
    assert len(root.findall(".//measure")) == 3


def test_a_last_breath_does_not_prevent_a_repeat() -> None:
    route = choose(route_of(phrase_of(RIFF * 2, metres=COMMON)), 3, breathe=True)
    root = ET.fromstring(
        encode_musicxml(lesson_of(route, parts=[("A", 0, 2, None), ("A", 3, 5, 0)]), fold_repeats=True)
    )
    assert len(root.findall(".//repeat")) == 2
    assert root.find(".//breath-mark") is not None
