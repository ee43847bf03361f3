"""Another harp or octave: which transpositions are worth trying, what they explain, and takes of our own voice."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.harp import make_harp
from reedpath.listen import FaultKind, answer_take, other_harps
from reedpath.listen.align import first_pass, line_up_heard
from reedpath.listen.expected import pitch_prior
from reedpath.listen.other_harps import (
    Explained,
    _asked,
    _explained,
    _likeliest,
    _octaves_beyond,
    _some_holes_beside,
    _votes,
    line_up_on_any_harp,
    may_be_elsewhere,
)
from reedpath.listen.play_through import HarpHeard, on_harp_of
from reedpath.listen.swing import with_swing
from reedpath.sound import play_along
from support.built_routes import built_lesson, built_route
from support.heard_takes import HeardTake

TEXT = "2d 3d 4b 4d 5d 6b:1 5d 4d 4b 3d 2d 4d 5b 6b:1 4d 5d 4d 4b 3d 2d 2d:2"
ROUTE = built_route(TEXT, key="C", bpm=100)


@given(st.integers(-24, 24), st.floats(-0.2, 0.2), st.integers(0, 2**32 - 1))
def test_most_runs_speak_for_the_interval_that_the_take_lies_off_whatever_notes_are_wrong(semitones, off, seed):
    asked = _asked(ROUTE)
    heard = asked + semitones + off
    heard[np.random.default_rng(seed).integers(len(heard), size=2)] += 5.0
    votes = _votes(heard, asked)
    assert max(votes, key=votes.__getitem__) == semitones
    assert _likeliest(votes)[:1] == ([semitones] if semitones else _likeliest(votes)[:1])
    assert 0 not in _likeliest(votes)


def test_runs_of_one_pitch_and_few_notes_say_nothing():
    assert not _votes(np.full(9, 60.0), _asked(ROUTE))
    assert not _votes(np.array([60.0, 62.0]), _asked(ROUTE))
    assert _likeliest(_votes(_asked(ROUTE)[:4] + 3, _asked(ROUTE))) == []


@pytest.mark.parametrize(
    ("key", "semitones", "octaves"),
    [
        ("C", -3, 0),
        ("C", 12, 1),
        ("C", -24, -2),
        ("C", 7, 1),
        ("C", 14, 1),
        ("A", -4, 0),
        ("A", 3, 0),
        ("G", -13, -2),
    ],
)
def test_the_octave_is_told_that_no_customary_or_low_harp_accounts_for(key, semitones, octaves):
    assert _octaves_beyond(make_harp(key), semitones) == octaves


def test_some_holes_beside_are_the_same_breaths_there_and_none_where_the_harp_ends():
    beside = _some_holes_beside(ROUTE, 1)
    asked = [(one.choice.move.holes[0] + 1, one.choice.move.breath) for one in ROUTE.events]
    assert [(one.choice.move.holes[0], one.choice.move.breath) for one in beside.events] == asked
    assert _some_holes_beside(ROUTE, -2) is None
    assert _some_holes_beside(ROUTE, 5) is None


def test_what_is_explained_is_the_sound_of_right_notes():
    assert _explained(HeardTake(ROUTE).lined_up()) == Explained(1.0, 1.0, 1.0)
    take = HeardTake(ROUTE)
    midi = take.sounds[5].midi
    found = _explained(take.sounding(5, midi=midi + 2.0).lined_up())
    assert found.right == found.of_route == pytest.approx(20 / 21)
    assert found.share < 1.0
    # a harp a third of a semitone off its pitch is right
    sharp = HeardTake(ROUTE)
    for number in range(len(ROUTE.events)):
        sharp.sounding(number, midi=sharp.sounds[number].midi + 0.33)
    assert _explained(sharp.lined_up()).is_it


@pytest.mark.parametrize(("right", "of_route", "share", "is_it"), [
    (0.75, 0.6, 0.4, True), (0.74, 1.0, 1.0, False), (1.0, 0.59, 0.89, False), (1.0, 0.1, 0.9, True)])  # fmt: skip
def test_what_is_it_and_what_is_only_like_it(right, of_route, share, is_it):
    assert Explained(share, right, of_route).is_it is is_it


def hearing_of(route):
    return HeardTake(route).lined_up().hearing


@pytest.mark.parametrize("holes", [-1, 1])
def test_a_take_some_holes_beside_is_told_as_such_and_has_no_play_through(holes):
    route = built_route(TEXT.replace("2d", "3b").replace("6b", "5b"), key="C", bpm=100)
    usual = line_up_heard(route, hearing_of(_some_holes_beside(route, holes)))
    found = line_up_on_any_harp(None, route, usual=usual)
    assert found.harp_heard == HarpHeard("C", 0, 0, holes, pytest.approx(1.0, abs=0.06), _explained(usual).share)
    assert found.play_throughs == ()
    assert found.route == route
    # what was found of it on the holes that are asked says nothing
    chance = dataclasses.replace(usual, play_throughs=HeardTake(route).lined_up().play_throughs)
    assert line_up_on_any_harp(None, route, usual=chance).play_throughs == ()


def test_whether_a_take_may_be_a_route_on_any_harp():
    other = built_route("6b 5d 5b 4d 4b 6d 6b 5b 4d 5d 4b 6d 5d 4d", key="C", bpm=100)
    for semitones in (0, -5, 2):
        hearing = hearing_of(on_harp_of(ROUTE, semitones))
        assert may_be_elsewhere(first_pass(ROUTE, hearing), at_least=0.9) is True
        assert may_be_elsewhere(first_pass(other, hearing), at_least=0.9) is False
        assert may_be_elsewhere(first_pass(other, hearing), at_least=0.0) is True


def test_where_most_is_as_asked_or_nothing_is_asked_no_other_harp_is_looked_for():
    for route in (ROUTE, built_route("", key="C")):
        usual = line_up_heard(route, hearing_of(ROUTE))
        assert line_up_on_any_harp(None, route, usual=usual) is usual


@pytest.mark.parametrize(
    ("semitones", "name", "octaves"), [(-5, "G", 0), (-3, "A", 0), (2, "D", 0), (-12, "C", -1), (12, "C", 1)]
)
def test_a_take_on_another_harp_is_lined_up_with_what_it_plays(semitones, name, octaves, monkeypatch):
    harp_taken = on_harp_of(ROUTE, semitones)
    hearing = hearing_of(harp_taken)
    priors = []
    monkeypatch.setattr(other_harps, "heard_in", lambda seen, prior: priors.append(prior) or hearing)
    usual = line_up_heard(ROUTE, hearing)
    found = line_up_on_any_harp(None, ROUTE, usual=usual)
    shares = (pytest.approx(1.0, abs=0.06), _explained(usual).share)
    assert found.harp_heard == HarpHeard(name, semitones, octaves, 0, *shares)
    (play,) = found.play_throughs
    assert all(one.played for one in play.events)
    # heard again with the reach of the harp that is played
    assert [one.tolist() for one in priors] == [pitch_prior(harp_taken.harp).tolist()]
    assert may_be_elsewhere(first_pass(ROUTE, hearing), at_least=0.9)


def sounded(route):
    lesson = built_lesson(route, factors=(1.0,))
    return play_along(lesson, lesson.ladder[0])


def test_our_own_voice_on_another_harp_and_swung_is_told_both():
    swung = with_swing(on_harp_of(ROUTE, -5), 2)
    answer = answer_take(sounded(swung), ROUTE)
    assert (answer.harp_heard.name, answer.harp_heard.octaves) == ("G", 0)
    play = answer.plays[answer.best]
    assert play.swing.heard == pytest.approx(2.0, rel=0.06)
    assert play.practise[0].kind is FaultKind.SWUNG
    assert play.right_share == 1.0


@pytest.mark.parametrize("swing", [Fraction(1), Fraction(2)])
def test_our_own_voice_as_it_is_asked_is_told_neither(swing):
    route = built_route(TEXT, key="C", bpm=100, swing=swing)
    answer = answer_take(sounded(route), route)
    assert answer.harp_heard is None
    assert answer.plays[answer.best].swing.kind is None
    assert not answer.plays[answer.best].practise
