"""A take of several pieces, glued from recorded harmonica notes: each is found where it is played, and answered."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.hear import observe
from reedpath.listen import (
    FaultKind,
    PieceTold,
    TakeHearings,
    answer_take,
    format_pieces,
    lessons_heard,
    line_up_with_pieces,
    places_to_hear,
)
from reedpath.listen.pieces_heard import believed
from reedpath.listen.play_through import on_harp_of
from reedpath.signal import Samples
from reedpath.wording import catalogue_names, load_catalogue
from support.built_routes import built_route
from support.glued_takes import RATE, Fault, Kind, faulted, glue, perform, wrong_moves
from support.play_throughs import play_through

# four phrases on one harp, invented for these tests; they share most of their notes, and end and begin on 2 draw
ROUTES = [
    built_route(text, key="A", bpm=96)
    for text in (
        "2d 3d' 4b 4d 4d':1 4b 3d' 2d:1 2d'':1 2d:2",
        "2d 3d 4d 3d 2d:1 3d:1 4d 3d 2d:1 3d:2",
        "6b 5d 4d 4b 3d':1 2d:1 2d'' 2d 1d 1b 2d:2",
        "2d:1 4b 3d' 2d:1 2d'' 1d 1b 1d 2d'' 2d 2d:2",
    )
]
EN = load_catalogue("en")


def played(piece: int, *, seed: int = 1, first: int = 0, last: int | None = None, wrong: int | None = None):
    rng = np.random.default_rng(seed)
    deeds = perform(ROUTES[piece], rng, start=0.05, first=first, last=last)
    if wrong is not None:
        deeds = faulted(deeds, Fault(Kind.WRONG, wrong, move=wrong_moves(ROUTES[piece], wrong)[0]))
    return glue(ROUTES[piece], deeds, rng, after=0.0).samples.array[:, 0]


def taken(parts, *, gap: float = 0.8) -> Samples:
    silence = np.zeros(int(gap * RATE))
    return Samples(np.concatenate([silence, *(one for part in parts for one in (part, silence))]), RATE)


def found_in(sound: Samples) -> list[tuple[int, int]]:
    """Pieces heard in the order of time, each with how many of its events sound."""
    heard = [
        (play.start_seconds, one.piece, len(play.heard))
        for one in line_up_with_pieces(observe(sound, low_strings=False), ROUTES)
        for play in one.lined_up.play_throughs
    ]
    return [(piece, count) for _, piece, count in sorted(heard)]


def whole(piece: int) -> tuple[int, int]:
    return piece, len(ROUTES[piece].events)


@pytest.mark.parametrize("gap", [0.25, 1.2])
def test_each_piece_is_found_where_it_is_played_with_all_its_notes(gap):
    order = (0, 1, 3, 0, 2)
    sound = taken([played(piece, seed=seed) for seed, piece in enumerate(order)], gap=gap)
    assert found_in(sound) == [whole(piece) for piece in order]


def test_parts_of_pieces_are_theirs_and_what_is_not_played_is_not_heard():
    sound = taken([played(0, first=4), played(2, last=7), played(0)])
    assert found_in(sound) == [(0, 6), (2, 8), whole(0)]


def test_one_piece_with_wrong_notes_is_that_piece_alone():
    sound = taken([played(2, wrong=2), played(2, seed=3, wrong=5)])
    assert {piece for piece, _ in found_in(sound)} == {2}


def test_pieces_on_another_harp_are_each_found_there():
    higher = [on_harp_of(route, 2) for route in ROUTES]
    rng = np.random.default_rng(4)
    takes = [glue(higher[piece], perform(higher[piece], rng, start=0.05), rng, after=0.0) for piece in range(4)]
    sound = taken([one.samples.array[:, 0] for one in takes])
    found = line_up_with_pieces(observe(sound, low_strings=False), ROUTES)
    assert [(one.piece, one.lined_up.harp_heard.name) for one in found] == [(piece, "B") for piece in range(4)]


def test_a_lesson_explains_what_its_pieces_explain_together_and_nothing_twice():
    hearings = TakeHearings(observe(taken([played(0), played(1), played(2)]), low_strings=False))
    alone, together = lessons_heard(hearings, [ROUTES[:1], ROUTES])
    assert alone.share < 0.6
    assert 0.8 < together.share <= 1.02
    assert together.orderly > 1.5 * alone.orderly


def test_a_take_of_nothing_is_one_piece_without_a_play_through():
    noise = np.random.default_rng(2).normal(0, 0.01, 3 * RATE)
    (one,) = line_up_with_pieces(observe(Samples(noise, RATE), low_strings=False), ROUTES)
    assert (one.piece, one.lined_up.play_throughs) == (0, ())


def test_events_in_a_row_and_in_time_are_believed():
    even = play_through([(event, 0.5 * event, 0.5 * event + 0.4) for event in range(24)]).heard
    assert believed(even) == pytest.approx(0.8)
    assert believed(even, breaks=3) == pytest.approx(0.5)
    assert believed(()) == 0.0


@pytest.fixture(scope="module")
def told() -> list[PieceTold]:
    """Piece 1 with a wrong note, piece 3 all right."""
    sounds = [played(0, wrong=3), played(2)]
    return [
        PieceTold(f"Piece {number}: {name}", f"“{name}”", answer_take(taken([sound]), ROUTES[piece]))
        for number, name, piece, sound in ((1, "First", 0, sounds[0]), (3, "Third", 2, sounds[1]))
    ]


def test_how_it_went_over_all_is_said_first_and_each_fault_under_its_piece(told):
    text = format_pieces("Four", told, ["“Second”"], EN)
    over_all, first, third = text.split("\nPiece ")
    right = told[0].answer.best_play.right
    assert "I hear two pieces: “First” and “Third”. “Second” is not in this take." in over_all
    assert f"Best is “Third”, with {len(ROUTES[2].events)} of" in over_all
    assert f"There is most to mend in “First”, with {right} of {len(ROUTES[0].events)}: begin there." in over_all
    assert EN.say("listen.practise") in first
    assert EN.say("listen.practise") not in third
    # what is right needs no next step today
    assert "Next:" in first
    assert "Next:" not in third


def test_where_all_is_right_that_is_all_that_is_said_over_all(told):
    both = [told[1], told[1]._replace(name="“Fourth”")]
    over_all, *pieces = format_pieces("Two", both, [], EN).split("\nPiece ")
    assert over_all.strip().endswith(EN.say("listen.pieces.all_right"))
    assert [one.count("Next:") for one in pieces] == [0, 1]


def test_a_single_piece_is_answered_as_a_lesson_of_one(told):
    over_all, piece = format_pieces("Four", told[:1], ["“Second”"], EN).split("\nPiece ")
    assert "Of this lesson I hear “First”." in over_all
    assert "most to mend" not in over_all
    assert "Next:" in piece


def test_places_in_the_take_say_which_piece_they_are_of(told):
    places = [place.words for place in places_to_hear(told[0].answer, EN, piece=told[0].name)]
    assert places
    assert all(words.startswith("“First”: ") for words in places)
    kinds = {thing.kind for thing in told[0].answer.best_play.practise}
    assert FaultKind.ANOTHER in kinds


@pytest.mark.parametrize("language", catalogue_names())
def test_it_is_said_in_every_language(told, language):
    words = load_catalogue(language)
    text = format_pieces("Four", told, ["A", "B"], words)
    for one in told:
        assert one.heading in text
        assert text.count(one.name) >= 2
