from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Route
from reedpath.harp import Breath, Move, notation_names
from reedpath.page.score.sheet import sheet_of
from reedpath.page.score.tab_signs import note_token
from reedpath.page.tabtext.printing import format_tab
from reedpath.page.tabtext.systems import columns_of_text, wrapped
from reedpath.phrase import Event, Metre, Ornaments, Phrase, Tempo
from reedpath.pitch import Key
from reedpath.wording import load_catalogue
from support.examples import examples
from support.routes import choose, lesson_of, phrase_of, route_of
from support.spent_bytes import SpentBytes, built_from_bytes

COMMON = (Metre(F(0), 4, 4),)


def rows(text: str) -> list[str]:
    """The rows of the systems: all that follows the header."""
    lines = text.splitlines()
    return lines[next(i for i, line in enumerate(lines) if line.rstrip().endswith("|")) - 1 :]


def line_of(text: str, row: int) -> str:
    return rows(text)[row]


def decorate(route: Route, index: int, ornaments: Ornaments) -> Route:
    events = list(route.events)
    events[index] = replace(events[index], event=replace(events[index].event, ornaments=ornaments))
    return replace(route, events=tuple(events))


def test_tab_stands_under_the_count() -> None:
    route = route_of(phrase_of("C5:1 E5:1/2 G5:1/2 D5:2", metres=COMMON))
    assert rows(format_tab(route)) == [
        "      1   &   2   &   3   &   4   &",
        "  1 | +4  ·   +5  +6  -4  ·   ·   ·   |",
    ]


def test_a_rest_is_blank_and_a_held_note_goes_on() -> None:
    route = route_of(phrase_of("C5:3/2 r:1/2 D5:2", metres=COMMON))
    assert line_of(format_tab(route), 1) == "  1 | +4  ·   ·       -4  ·   ·   ·   |"


def test_compound_time_counts_its_eighths() -> None:
    route = route_of(phrase_of("C5:1/2 D5:1 E5:1/4 F5:1/4 G5:1", metres=(Metre(F(0), 6, 8),)))
    assert rows(format_tab(route)) == [
        "      1   2   3   4   &   5   6",
        "  1 | +4  -4  ·   +5  -5  +6  ·   |",
    ]


def test_sixteenths_and_triplets_get_columns_of_their_own() -> None:
    route = route_of(phrase_of("C5:1/4 D5:1/4 E5:1/4 F5:1/4 C5:1/3 D5:1/3 E5:1/3 C5:2", metres=COMMON))
    assert rows(format_tab(route)) == [
        "      1   e   &   a   2       &       3   &   4   &",
        "  1 | +4  -4  +5  -5  +4  -4  ·   +5  +4  ·   ·   ·   |",
    ]


def test_a_pickup_counts_from_the_end_of_its_bar() -> None:
    route = route_of(phrase_of("C5:1/2 D5:1/2 E5:4", metres=COMMON, pickup=F(1)))
    assert line_of(format_tab(route), 0).split() == ["4", "&", "1", "&", "2", "&", "3", "&", "4", "&"]


def test_a_breath_stands_before_the_note_it_is_taken_for() -> None:
    route = choose(route_of(phrase_of("C5:2 D5:1 E5:1", metres=COMMON)), 1, breathe=True)
    assert line_of(format_tab(route), 1) == "  1 | +4  ·   ·   · , -4  ·   +5  ·   |"


def test_ornaments_are_seen() -> None:
    route = route_of(phrase_of("B4:1 D5:1 G5:1 E5:1", metres=COMMON))
    route = choose(route, 0, attack_semitones=-2.0)
    route = choose(route, 1, fall_semitones=-1.0)
    route = choose(route, 2, lead_in=(Move((4,), Breath.BLOW), Move((5,), Breath.BLOW)))
    route = decorate(route, 3, Ornaments(vibrato=True))
    text = format_tab(route)
    assert line_of(text, 1).split() == ["1", "|", "-3''›-3", "·", "-4›-4'", "·", "+4»+5»+6", "·", "+5~", "·", "|"]
    assert "-3''›-3   started bent, let go" in text
    assert "-4›-4'    bent down at the end" in text


def test_an_attack_from_above_is_pressed_down_into_its_bend() -> None:
    route = choose(route_of(phrase_of("Bb4:4", metres=COMMON)), 0, attack_semitones=1.0)
    assert "-3›-3'" in line_of(format_tab(route), 1)


def test_an_attack_under_a_half_step_is_a_dip() -> None:
    route = choose(route_of(phrase_of("D5:4", metres=COMMON)), 0, attack_semitones=-0.5)
    assert "-4½'›-4" in line_of(format_tab(route), 1)


def test_grace_notes_run_into_their_main_note() -> None:
    phrase = phrase_of("D5:4", metres=COMMON)
    event = replace(phrase.events[0], ornaments=Ornaments(graces=(72, 76)))
    route = route_of(replace(phrase, events=(event,)))
    assert [one.event.grace for one in route.events] == [True, True, False]
    assert line_of(format_tab(route), 1).split()[2] == "+4»+5»-4"


def test_what_is_not_played_or_not_as_given_is_marked() -> None:
    route = route_of(phrase_of("C3:2 C5:2", metres=COMMON))
    route = choose(route, 1, changes=(Change(ChangeKind.OCTAVE, (84,), (72,), 0.5),))
    text = format_tab(route)
    assert line_of(text, 1).split() == ["1", "|", "×", "+4*", "·", "·", "·", "|"]
    assert "not played" in text
    assert "not as in the original" in text


def test_ascii_only_tab_is_ascii() -> None:
    route = choose(route_of(phrase_of("B4:1 D5:3", metres=COMMON)), 0, attack_semitones=-1.0)
    text = format_tab(route, notation="arrow", ascii_only=True)
    assert "\n".join(rows(text)).isascii()
    assert "v3'>v3" in text


def test_each_mark_of_a_typewriter() -> None:
    """Graces and slides run in with ``>>`` and out with ``<<``, which a text that is read back can tell apart."""
    phrase = phrase_of("D5:1 E5:1 C3:1 G5:1", metres=COMMON)
    grace = replace(phrase.events[0], ornaments=Ornaments(graces=(72, 76)))
    route = route_of(replace(phrase, events=(grace, *phrase.events[1:])))
    slide = (Move((4,), Breath.BLOW), Move((5,), Breath.BLOW))
    route = choose(choose(route, 3, lead_in=slide), 5, lead_out=slide)
    route = choose(route, 5, changes=(Change(ChangeKind.OCTAVE, (91,), (79,), 0.5),), breathe=True)
    route = decorate(route, 3, Ornaments(vibrato=True))
    # the same, with the signs that need more than ASCII
    assert line_of(format_tab(route), 1).split("|")[1].split() == [
        *("+4»+5»-4", "·", "+4»+5»+5~", "·", "×", ",", "+6*«+4«+5", "·"),
    ]
    assert line_of(format_tab(route, ascii_only=True), 1).split("|")[1].split() == [
        *("+4>>+5>>-4", ".", "+4>>+5>>+5~", ".", "x", ",", "+6*<<+4<<+5", "."),
    ]


def test_header_says_what_is_played_on_what() -> None:
    phrase = phrase_of("G4:4", metres=COMMON, key=Key(7), swing=F(2), tempos=(Tempo(F(0), 96.0),), title="Low Road")
    lines = format_tab(route_of(phrase)).splitlines()
    assert lines[:3] == ["Low Road", "========", "C harp, second position, G major, ♩ = 96, swung, 4/4"]


def test_french_tab_speaks_french() -> None:
    route = route_of(phrase_of("Bb4:4", metres=COMMON, key=Key(7)))
    text = format_tab(route, notation="letters-fr", catalogue=load_catalogue("fr"))
    assert "harmonica en do (C)" in text
    assert "3A'  3 aspiré, altéré d’un demi-ton" in text


def test_a_part_that_comes_again_is_named_not_printed() -> None:
    riff = "C5:1 D5:1 E5:2 "
    route = route_of(phrase_of(riff + "G5:4 " + riff, metres=COMMON))
    lesson = lesson_of(route, parts=[("A", 0, 2, None), ("B", 3, 3, None), ("C", 4, 6, 0)])
    assert format_tab(lesson).splitlines()[-1] == "    [C] as part A (bar 1)"
    assert format_tab(lesson).count("+4  ·   -4  ·   +5") == 1
    assert format_tab(lesson, fold_repeats=False).count("+4  ·   -4  ·   +5") == 2


def test_a_part_with_another_breath_is_printed() -> None:
    riff = "C5:1 D5:1 E5:2 "
    route = choose(route_of(phrase_of(riff * 2, metres=COMMON)), 4, breathe=True)
    lesson = lesson_of(route, parts=[("A", 0, 2, None), ("B", 3, 5, 0)])
    assert "as part A" not in format_tab(lesson)


def test_tempo_changes_stand_over_the_tab() -> None:
    phrase = phrase_of("C5:2 D5:2", metres=COMMON, tempos=(Tempo(F(0), 100.0), Tempo(F(2), 80.0)))
    labels, counts, _ = format_tab(route_of(phrase)).splitlines()[-3:]
    assert labels.index("♩=80") == counts.index("3")


def test_note_names_stand_under_the_tab() -> None:
    text = format_tab(route_of(phrase_of("C5:1 Bb4:3", metres=COMMON)), note_names=True)
    count, tab, names = rows(text)
    assert names.split() == ["C", "B♭"]
    assert tab.index("-3'") == names.index("B♭") == count.index("2")


def test_nothing_to_play_says_so() -> None:
    assert format_tab(route_of(Phrase(()))).endswith("There is nothing to play.\n")


@pytest.mark.parametrize("title", ["漢字 " * 40, "x" * 300, "😀\x00\x1b[31m#$*@<>&\"'", ""])
def test_any_title_stays_inside_the_page(title: str) -> None:
    phrase = phrase_of("C5:4", metres=COMMON, title=title)
    lines = format_tab(route_of(phrase)).splitlines()
    assert all(columns_of_text(line) <= 80 for line in lines)
    assert not any(ord(character) < 32 for line in lines for character in line)


def test_wide_and_combining_characters_are_measured() -> None:
    assert columns_of_text("漢字") == 4
    assert columns_of_text("e\u0301") == 1
    assert wrapped("漢字漢字", 5) == ["漢字", "漢字"]


LENGTHS = [F(1, 4), F(1, 2), F(1), F(3, 2), F(1, 3)]
METRES = [(4, 4), (3, 4), (6, 8), (7, 8)]


def any_phrase(drawn: SpentBytes) -> Phrase:
    metre = Metre(F(0), *drawn.pick(METRES))
    at, events = F(0), []
    for length in drawn.picks(LENGTHS, least=1, most=24):
        if drawn.yes():
            events.append(Event(at, length, (drawn.whole(60, 84),)))
        at += length
    return Phrase(tuple(events), metres=(metre,))


@examples(60)
@given(built_from_bytes(any_phrase, size=74), st.sampled_from(notation_names()))
def test_every_token_stands_in_order_within_the_width(phrase: Phrase, notation: str) -> None:
    route = route_of(phrase)
    text = format_tab(route, notation=notation)
    assert all(columns_of_text(line) <= 80 for line in text.splitlines())
    if phrase.events:
        sheet = sheet_of(route, notation=notation)
        tab = " ".join(line[4:] for line in rows(text) if line.endswith("|"))
        found = [word for word in tab.split() if word not in ("|", "·", ",")]
        assert found == [note_token(sheet, note) for note in sheet.notes]
