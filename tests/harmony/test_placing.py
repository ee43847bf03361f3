"""Where phrases sit in forms, as values: moved together nothing changes, and what each part of the rule counts."""

from __future__ import annotations

from dataclasses import replace as with_fields
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given

from reedpath.errors import SettingsError
from reedpath.harmony import (
    Form,
    FormPlace,
    FourVersion,
    LinePlace,
    NoteKind,
    Rating,
    core_bars,
    form_names,
    form_places,
    load_form,
    moves_in_part,
    needs_no_version,
    over_the_four,
    parse_form,
    placed,
    proposed_bars,
    versions_for_the_four,
)
from reedpath.phrase import Metre, Phrase
from reedpath.pitch import Key
from support.examples import examples
from support.phrases import phrase_of
from support.short_phrases import short_phrases

TWELVE = load_form("twelve-bar")
G = Key(7)


def shape(place: FormPlace) -> FormPlace:
    """A place without its pitches."""
    notes = tuple(
        with_fields(one, midi=0, chord=with_fields(one.chord, root=0)) for one in place.notes
    )  # fmt: skip
    chords = tuple(with_fields(one, root=0) for one in place.chords)
    return with_fields(place, notes=notes, chords=chords)


@examples(12)
@given(short_phrases(6))
def test_phrase_and_key_moved_together_sit_the_same(phrase: Phrase) -> None:
    for name in form_names():
        form = load_form(name)
        for bar in range(1, len(form.bars) + 1, 4):
            here = shape(placed(phrase, form, G, bar))
            for semitones in (-12, 1, 7):
                assert shape(placed(phrase.moved(semitones), form, G.moved(semitones), bar)) == here


@examples(20)
@given(short_phrases(6))
def test_places_stay_within_the_form_and_best_comes_first(phrase: Phrase) -> None:
    for name in form_names():
        form = load_form(name)
        places = form_places(phrase, form, G)
        assert places
        assert [one.total for one in places] == sorted((one.total for one in places), reverse=True)
        assert all(0 <= one.total <= 100 and one.notes for one in places)
        assert all(one.last_bar <= len(form.bars) for one in places) or core_bars(phrase) > len(form.bars)
        weight = sum((one.weight for one in places[0].notes), Fraction(0))
        assert all(sum((one.weight for one in place.notes), Fraction(0)) == weight for place in places) or any(
            len(place.chords) > 1 for place in places
        )
        kept = proposed_bars(places)
        assert all(before.last_bar < after.bar for before, after in pairwise(kept))


def test_a_phrase_of_chord_notes_alone_has_nothing_that_rubs() -> None:
    place = placed(phrase_of("g4 b4 d5 f5 | g5 1/1", key="G"), TWELVE, G, 1)
    assert (place.notes_share, place.rest_share, place.total, place.rating) == (100, 100, 100, Rating.GOOD)
    assert (place.bars, place.rubbing, place.line) == (2, None, LinePlace.START)
    assert [one.over.degree for one in place.notes] == ["root", "third", "fifth", "seventh", "root"]


@pytest.mark.parametrize(
    ("text", "bars"),
    [
        ("g4 1/1", 1),
        ("g4 1/1 | b4 1/4", 1),  # a short note on the bar line closes the bar before
        ("g4 1/1 | b4 1/2", 2),
        ("g4 1/1 | b4 1/8 d5", 2),
        ("g4 1/4", 1),
    ],
)
def test_a_short_last_note_on_the_bar_line_takes_no_bar_of_its_own(text: str, bars: int) -> None:
    assert core_bars(phrase_of(text, key="G")) == bars


def test_the_strength_of_a_place_is_that_of_its_metre() -> None:
    place = placed(phrase_of("g4 1/8 g4 g4 g4 g4 g4 g4 g4", key="G"), TWELVE, G, 1)
    assert [one.strength for one in place.notes] == [100, 25, 50, 25, 75, 25, 50, 25]
    waltz = phrase_of("g4 1/4 g4 g4", key="G", metres=(Metre(Fraction(0), 3, 4),))
    assert [one.strength for one in placed(waltz, TWELVE, G, 1).notes] == [100, 50, 50]
    slow = phrase_of("g4 3/8 g4 g4 g4", key="G", metres=(Metre(Fraction(0), 12, 8),))
    assert [(one.strength, one.beat) for one in placed(slow, TWELVE, G, 1).notes] == [
        (100, 1), (50, 2), (75, 3), (50, 4)
    ]  # fmt: skip


def test_a_held_note_counts_under_each_chord_and_an_anticipation_under_the_one_that_comes() -> None:
    held = placed(phrase_of("r 1/2 g4 1/1", key="G"), TWELVE, G, 4)
    assert [(one.chord.numeral, one.bar, one.weight) for one in held.notes] == [("I", 4, 150), ("IV", 5, 200)]
    early = placed(phrase_of("r 7/8 f4 5/8", key="G"), TWELVE, G, 4)
    assert [(one.chord.numeral, one.bar, one.beat, one.over.kind) for one in early.notes] == [
        ("IV", 5, 1, NoteKind.BLUE_RUB)
    ]


def test_chords_that_share_a_bar_have_a_stretch_of_it_each() -> None:
    form = load_form("quick-change")
    bar = next(at for at, names in enumerate(form.bars, start=1) if len(names) == 2)
    halves = placed(phrase_of("g4 1/2 c5", key="G"), form, G, bar)
    assert [(one.chord.numeral, one.weight) for one in halves.notes] == [("I", 200), ("IV", 150)]
    whole = placed(phrase_of("g4 1/1", key="G"), form, G, bar)
    assert [one.chord.numeral for one in whole.notes] == ["I", "IV"]


def test_a_form_that_says_nothing_of_its_lines_turns_at_its_end() -> None:
    form = Form("two", "Two", "any", (("I",), ("V",), ("I",)))
    assert [form.turns_after(bar) for bar in range(6)] == [False, False, True] * 2
    assert [one + 1 for one in range(12) if TWELVE.turns_after(one)] == [4, 8, 12]
    assert form.ending == ()


def test_what_rubs_and_goes_on_by_step_passes() -> None:
    passing = placed(phrase_of("b4 1/4 c5 d5 g4", key="G"), TWELVE, G, 1)
    leaping = placed(phrase_of("b4 1/4 c5 g4 g4", key="G"), TWELVE, G, 1)
    staying = placed(phrase_of("c5 1/2 d5", key="G"), TWELVE, G, 1)
    assert [int(one.worth) for one in passing.notes] == [100, 60, 100, 100]
    assert [int(one.worth) for one in leaping.notes] == [100, 0, 100, 100]
    assert int(staying.notes[0].worth) == 0


def test_a_pickup_falls_in_the_bar_before_and_over_its_chord() -> None:
    phrase = phrase_of("d5 1/4 | g4 1/1", key="G", pickup=Fraction(1))
    place = placed(phrase, TWELVE, G, 1)
    assert (place.pickup_bar, place.bars, place.last_bar) == (12, 1, 1)
    assert [(one.bar, one.beat, one.chord.numeral) for one in place.notes] == [(12, 4, "V"), (1, 1, "I")]
    assert [one.numeral for one in place.chords] == ["I"]


def test_lines_begin_every_four_bars_and_two_bars_are_the_turnaround() -> None:
    phrase = phrase_of("g4 1/1 | d5 1/1", key="G")
    lines = {one.bar: one.line for one in form_places(phrase, TWELVE, G)}
    assert [bar for bar, line in sorted(lines.items()) if line is LinePlace.START] == [1, 5, 9]
    assert [bar for bar, line in sorted(lines.items()) if line is LinePlace.HALF] == [3, 7, 11]
    assert [bar for bar, line in sorted(lines.items()) if line is LinePlace.ACROSS] == [4, 8]
    assert [one.bar for one in form_places(phrase, TWELVE, G) if one.is_turnaround] == [11]
    assert not any(one.is_turnaround for one in form_places(phrase, load_form("one-chord"), G))


def test_a_phrase_longer_than_its_form_goes_round_from_its_beginning() -> None:
    (only,) = form_places(phrase_of("g4 1/1 g4 g4", key="G"), load_form("one-chord"), G)
    # the bars of its notes are counted like those that it is said to take
    assert (only.bar, only.last_bar, [one.bar for one in only.notes]) == (1, 3, [1, 2, 3])
    assert (only.rest.bar, only.rest.chord) == (3, only.notes[0].chord)


def test_an_empty_phrase_has_places_and_no_notes() -> None:
    place = placed(Phrase((), key=G), TWELVE, G, 1)
    assert (place.notes, place.rest, place.telling, place.rubbing) == ((), None, None, None)


def test_chords_that_share_a_bar_share_it_evenly() -> None:
    form = parse_form('mode = "major"\nbars = ["I7 IV7"]', name="two")
    place = placed(phrase_of("g4 1/4 g4 g4 g4", key="G"), form, G, 1)
    assert [one.chord.numeral for one in place.notes] == ["I", "I", "IV", "IV"]


RUBS = "d5 1/8 b4 g4 1/4 b4 1/2"


def test_versions_for_the_iv_chord_sit_there_well_and_keep_the_key() -> None:
    phrase = phrase_of(RUBS, key="G")
    assert over_the_four(phrase, G).rating is not Rating.GOOD
    versions = versions_for_the_four(phrase, G)
    assert set(versions) == set(FourVersion)
    assert all(one.key == G and over_the_four(one, G).rating is Rating.GOOD for one in versions.values())
    assert [one.midi for one in versions[FourVersion.THIRD_LOWERED].events] == [(74,), (70,), (67,), (70,)]
    assert [one.midi for one in versions[FourVersion.FOURTH_UP].events] == [(79,), (76,), (72,), (76,)]


def test_no_version_where_the_phrase_sits_there_or_outlasts_the_chord() -> None:
    assert versions_for_the_four(phrase_of("g4 1/4 bb4 c5 g4", key="G"), G) == {}
    assert versions_for_the_four(phrase_of(" | ".join([RUBS] * 3), key="G"), G) == {}


def test_of_a_line_that_pauses_the_call_alone_is_adapted() -> None:
    line = phrase_of("d5 1/8 b4 g4 1/4 b4 1/2 | b4 1/2 r 1/2 | d5 1/4 b4 g4 1/2 | g4 1/1", key="G")
    assert moves_in_part(line)
    versions = versions_for_the_four(line, G)
    assert versions
    for version, one in versions.items():
        assert one.events[5:] == line.events[5:]
        assert all(new.midi != old.midi for new, old in zip(one.events[3:5], line.events[3:5], strict=True)), version
        assert over_the_four(one, G).rating is Rating.GOOD
    # one that goes on over the change, and one that outlasts the line, stay whole
    assert not moves_in_part(phrase_of("d5 1/8 b4 g4 1/4 b4 1/2 | b4 1/1 | d5 1/4 b4 g4 1/2 | g4 1/1", key="G"))
    assert not moves_in_part(phrase_of("g4 1/1 | b4 1/2 r 1/2 | g4 1/1 | g4 1/1 | g4 1/1", key="G"))
    assert not moves_in_part(phrase_of(RUBS, key="G"))


def test_a_pickup_to_the_answer_stays_with_it() -> None:
    line = phrase_of("b4 1/2 b4 1/2 | b4 1/4 r 1/4 d5 1/4 e5 | g4 1/1 | g4 1/1", key="G")
    assert all(one.events[3:] == line.events[3:] for one in versions_for_the_four(line, G).values())
    assert versions_for_the_four(line, G)


def test_a_minor_key_has_no_third_to_lower() -> None:
    minor = phrase_of("c5 1/4 e5 a4 e5", key="Am")
    assert FourVersion.THIRD_LOWERED not in versions_for_the_four(minor, Key(9, "minor"))


@pytest.mark.parametrize(
    ("text", "needs_none"),
    [
        ("c5 1/4 e5 g5 c5", True),  # notes of C7
        ("c5 1/4 f5 f5 c5", True),  # a blue note, the flat seventh of G
        ("g4 1/4 b4 d5 g5", False),  # sits well but for B, a half step above the flat seventh of C7
        ("c5 1/4 e5 g5 f5", False),  # rests on the fourth of C7
    ],
)
def test_a_phrase_needs_no_version_where_it_sits_well_and_only_blue_notes_rub(text: str, *, needs_none: bool) -> None:
    assert needs_no_version(over_the_four(phrase_of(text, key="G"), G)) is needs_none


@pytest.mark.parametrize(
    ("fields", "key", "field"),
    [
        ('bars = ["I7"]\nending = ["I7", "I7"]', "harmony.long_ending", "ending"),
        ('bars = ["I7", "I7"]\nturns = [2, 2]', "harmony.turns_ascend", "turns"),
    ],
)
def test_a_form_that_contradicts_itself_is_told_by_its_field(fields: str, key: str, field: str) -> None:
    with pytest.raises(SettingsError) as raised:
        parse_form(f'mode = "major"\n{fields}', name="mine")
    assert (raised.value.key, raised.value.where.file, raised.value.where.field) == (key, "mine.toml", field)
