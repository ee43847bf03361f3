"""What a good player would choose, on phrases that once went wrong; custom of the trade (docs/arranging.md)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from reedpath.arrange import Survey, all_harps, find_route, load_player, load_weights, survey
from reedpath.arrange.convention import colour_of
from reedpath.harp import load_tuning, make_harp, parse_move
from reedpath.pitch import Key
from support.built_phrases import line_of, short_tab

CALL = "E4 G4 A4 Bb4 A4 G4 E4"
SHAKEN = "E4 G4 A4 G4 G4 Bb4 A4 G4"
HIGH = "C6 Eb6 F6 F#6 G6 F#6 F6 Eb6 C6"
HYMN = "G4 G4 A4 F#4 G4 A4 B4 B4 C5 B4 A4 G4 A4 G4 F#4 G4"


def first(found: Survey) -> tuple[str, str, int | None]:
    best = found.ranked[0]
    return best.harp.name, best.harp.tuning.name, best.position


@pytest.mark.parametrize("last", ["4b", "5d"], ids=["from a blow note", "from a draw note"])
@pytest.mark.parametrize("bpm", [60, 100, 160])
def test_a_lick_comes_home_to_the_note_that_can_be_bent(last, bpm):
    notes = {"4b": "D5 C5 G4", "5d": "D5 F5 G4"}[last]
    assert short_tab(find_route(line_of(notes, bpm=bpm, key=Key(7)), make_harp("C"))).endswith(f"{last} 2d")


def test_a_long_and_a_shaken_note_is_one_that_can_be_worked_in_any_key():
    """First position too, between two blow notes: short it is 3 blow, long or shaken 2 draw."""
    assert short_tab(find_route(line_of("E4 G4 E4", key=Key(0)), make_harp("C"))) == "2b 3b 2b"
    assert short_tab(find_route(line_of("E4 G4 E4", key=Key(0), beats=Fraction(4)), make_harp("C"))) == "2b 2d 2b"
    assert short_tab(find_route(line_of("E4 G4", key=Key(0), vibrato=True), make_harp("C"))) == "2b 2d"


def test_a_beginner_who_bends_nothing_may_take_3_blow():
    """2 draw is dependable after some months only (a teacher's word, docs/arranging.md)."""
    tab = short_tab(
        find_route(line_of("C5 E5 C5 G4", key=Key(7)), make_harp("C"), player=load_player("first-months"))
    )
    assert tab == "4b 5b 4b 3b"


@pytest.mark.slow
@pytest.mark.parametrize("level", ["easy", "steady", "strong", "advanced"])
@pytest.mark.parametrize("notes", [CALL, SHAKEN, "E4 G4 A4 B4 D5 E5"])
@pytest.mark.parametrize("bpm", [60, 120])
def test_a_short_blues_is_played_in_second_position(notes, bpm, level):
    found = survey(line_of(notes, bpm=bpm, key=Key(4, "minor")), player=load_player(level), top=1)
    assert first(found) == ("A", "standard", 2)


@pytest.mark.parametrize("level", ["steady", "strong", "advanced"])
def test_a_high_blues_is_played_on_the_blow_bends_of_first_position(level):
    phrase = line_of(HIGH, key=Key(0, "minor"))
    found = survey(phrase, player=load_player(level), top=1)
    assert first(found) == ("C", "standard", 1)
    assert found.ranked[0].shift_semitones == 0


@pytest.mark.parametrize("level", ["first-months", "steady", "advanced"])
@pytest.mark.parametrize(("octave", "bpm"), [(0, 60), (0, 120), (12, 90)])
def test_a_plain_hymn_is_played_in_first_position(octave, level, bpm):
    found = survey(line_of(HYMN, bpm=bpm, key=Key(7)).moved(octave), player=load_player(level), top=1)
    assert first(found) == ("G", "standard", 1)


def test_a_line_says_what_holds_it_back():
    harps = all_harps([load_tuning("standard")])
    found = survey(line_of(CALL, key=Key(4, "minor")), harps, player=load_player("easy"), top=40)
    for line in found.ranked:
        assert line.score == pytest.approx(line.effort.total + sum(line.held_back.values()))
        assert ("octave" in line.held_back) == (line.shift_semitones != 0)
        assert ("truth" in line.held_back) == (line.truth < 1)
    assert found.ranked[0].held_back == {}
    assert "blue_notes" in next(line for line in found.ranked if line.position == 6 and line.truth == 1).held_back


def test_minor_pentatonic_and_blues_scales_are_blues_and_what_has_more_is_minor():
    assert colour_of(line_of("E4 G4 A4 B4 D5 E5", key=Key(4, "minor"))) == "blues"
    assert colour_of(line_of(CALL, key=Key(4, "minor"))) == "blues"
    assert colour_of(line_of("E4 F#4 G4 A4 B4", key=Key(4, "minor"))) == "minor"
    assert colour_of(line_of("E4 G4 A4 B4 C#5", key=Key(4, "minor"))) == "minor"


def turns_and_leaps(route) -> list[tuple[int, int]]:
    """Intervals of a route that go the other way than asked, or a third at most that became wider than a sixth."""
    tops = [(one.event.midi[-1], max(route.sounding_midi(index))) for index, one in enumerate(route.events)]
    pairs = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(tops)]
    return [(asked, given) for asked, given in pairs if asked * given < 0 or (abs(asked) <= 4 and abs(given) > 8)]


@pytest.mark.parametrize("level", ["first-months", "easy", "steady", "strong"])
@pytest.mark.parametrize(
    ("notes", "beats"),
    [
        ("E4 F#4 G4 A4 G4 F#4 E4 D4 C4", Fraction(1, 4)),
        ("E5 F#5 G5 A5 G5 F#5 E5 D5 C5", Fraction(1, 4)),
        ("G5 F5 E5 Eb5 D5 B4 G4", Fraction(1, 4)),
        ("C5 Db5 D5 Eb5 E5 F5 F#5 G5 Ab5 A5 Bb5 B5 C6", Fraction(1, 2)),
        ("C4 Db4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4 C5", Fraction(1, 2)),
    ],
)
def test_no_note_of_a_stepwise_line_is_thrown_an_octave_away(notes, beats, level):
    route = find_route(line_of(notes, beats=beats, bpm=160), make_harp("C"), player=load_player(level))
    assert turns_and_leaps(route) == []


def test_a_part_that_lies_too_low_moves_as_a_whole():
    """F3 A3 B3 lie below a C harp: the notes about them go up with them, and the line keeps its shape."""
    phrase = line_of("C5 D5 E5 C5 - C4 B3 A3 F3 A3 B3 C4 - C5 D5 E5", beats=Fraction(1))
    route = find_route(phrase, make_harp("C"))
    given = [max(route.sounding_midi(index)) - one.event.midi[-1] for index, one in enumerate(route.events)]
    assert given == [0] * 4 + [12] * 7 + [0] * 3


def test_what_an_octave_breaks_is_told_with_its_change():
    route = find_route(line_of("C5 D5 E5 C5 - C4 B3 A3 F3 A3 B3 C4", beats=Fraction(1)), make_harp("C"))
    losses = [change.loss for _, change in route.changes]
    assert losses[0] > losses[1] == load_weights().fit.octave
    assert route.truth == pytest.approx(1 - sum(losses) / len(route.events))


@pytest.mark.parametrize(
    ("level", "attack", "kinds"),
    [("first-months", 0.0, ["straight"]), ("easy", -1.0, ["shallow"]), ("steady", -1.0, ["shallow"])],
)
def test_a_string_bend_with_too_little_room_is_a_scoop_from_less_far(level, attack, kinds):
    """A whole step into D5: 4 draw has half a step of room; a beginner who bends nothing plays it straight."""
    phrase = line_of("C5 D5", beats=Fraction(1), bend_in=Fraction(2))
    last = find_route(phrase, make_harp("C"), player=load_player(level)).events[-1].choice
    assert (last.move, last.attack_semitones) == (parse_move("-4"), attack)
    assert [change.kind.value for change in last.changes] == kinds
    assert last.lead_in == ()


def test_the_nearer_a_scoop_comes_the_less_it_loses():
    def lost(semitones: int) -> float:
        route = find_route(line_of("G4 D5", beats=Fraction(1), bend_in=Fraction(semitones)), make_harp("C"))
        return sum(change.loss for _, change in route.changes)

    assert lost(1) == 0 < lost(2) < load_weights().fit.straight
