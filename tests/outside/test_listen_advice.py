"""Takes glued from recorded harmonica notes (Debian's fluid-soundfont-gm, MIT): played at other swings than the
lesson asks for, on other harps, in other octaves, some holes beside, again and again, faster and faster; and other
music, of which none of that is told.

A harp of another key sounds the same holes so many semitones higher or lower (tests/outside/test_harp_layout.py holds
the keys). The places of eighths are made by us, so the ratios are known.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from reedpath.data import replace
from reedpath.listen import Fault as AFault
from reedpath.listen import (
    FaultKind,
    NextStepKind,
    Notice,
    PraiseKind,
    Trend,
    answer_take,
    format_answer,
    practise_words,
    praise_of,
    praise_words,
)
from reedpath.listen.other_harps import _some_holes_beside
from reedpath.listen.play_through import on_harp_of
from reedpath.listen.swing import with_swing
from reedpath.sound import play_along
from reedpath.wording import load_catalogue
from support.built_routes import built_lesson, built_route
from support.divided_beats import DOTTED, SIXTEENTHS, TRIPLET, TWELVE_EIGHT, divided
from support.glued_takes import Fault, Kind, Manner, faulted, glue, perform, room, under
from support.sample_bank import FLUID_BANK

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="needs Debian's fluid-soundfont-gm"),
]

TEXT = "2d 3d' 4b 4d' 4d 5d 6b:1 5d 4d 4d' 4b 3d' 2d 2d 3d'' 3d 4d 5b 6b:1 4d 5d 4d 4b 3d 2d 2d:2"
OTHER = "6b 6d 7b 7d:1 8d 8b 9d:1 8b 8d 7b 7d 6d 6b:1 6d 7b 8b:1 8d 7d 7b:2"
MANNER = Manner(factor=0.9, jitter=0.010)


def sounded(route, *, heard_on=None, faults=(), seed=3, condition=None):
    """A route's take; on another harp where one is given."""
    rng = np.random.default_rng(seed)
    deeds = perform(route, rng, manner=MANNER)
    for fault in faults:
        deeds = faulted(deeds, fault)
    take = glue(heard_on or route, deeds, rng)
    return (take if condition is None else under(take, condition, rng)).samples


@pytest.mark.parametrize(
    ("asked", "ratio", "kind"),
    [
        (1, 1.0, None),
        (1, 1.5, FaultKind.SWUNG),
        (1, 2.0, FaultKind.SWUNG),
        (2, 1.0, FaultKind.NOT_SWUNG),
        (2, 2.0, None),
        (2, 3.0, FaultKind.SWINGS_MORE),
    ],
)
def test_swing_is_measured_and_told_first_and_no_note_is_late_for_it(asked, ratio, kind):
    route = built_route(TEXT, key="A", bpm=96, swing=Fraction(asked))
    answer = answer_take(sounded(with_swing(route, ratio), condition=room), route)
    play = answer.plays[answer.best]
    # a reed sets in some milliseconds late, the more the softer: up to a fiftieth of a beat
    assert play.swing.heard / (1 + play.swing.heard) == pytest.approx(ratio / (1 + ratio), abs=0.025)
    assert play.swing.kind == kind
    assert not [one for one in play.events if one.faults]
    assert [thing.kind for thing in play.practise] == ([kind] if kind else [])
    assert (answer.praise.kind is PraiseKind.ALL) == (kind is None)


# what a beat of two notes is played as, and a word of what is said; a dotted pair may be played like a shuffle
@pytest.mark.parametrize(
    ("way", "bpm", "ratio", "kind", "word"),
    [
        (SIXTEENTHS, 72.0, 1.0, None, ""),
        (SIXTEENTHS, 72.0, 1.8, FaultKind.SWUNG, "sixteenths"),
        (TRIPLET, 92.0, 1.0, FaultKind.NOT_SWUNG, "a quarter and an eighth"),
        (TRIPLET, 92.0, 2.0, None, "as long and as short"),
        (TWELVE_EIGHT, 62.0, 1.0, FaultKind.NOT_SWUNG, "a quarter and an eighth"),
        (TWELVE_EIGHT, 62.0, 3.2, FaultKind.SWINGS_MORE, "The quarters are too long"),
        (DOTTED, 88.0, 1.0, FaultKind.NOT_SWUNG, "dotted eighth"),
        (DOTTED, 88.0, 2.0, None, "as long and as short"),
    ],
)
@pytest.mark.parametrize("voice", ["sampled", "own voice"])
def test_other_beats_of_two_notes_are_measured_and_told_first(way, bpm, ratio, kind, word, voice):
    notes = built_route(TEXT, key="A")
    route, played = divided(notes, way, bpm=bpm), divided(notes, way.as_played(ratio), bpm=bpm)
    if voice == "sampled":
        rng = np.random.default_rng(6)
        sound = under(glue(route, perform(played, rng, manner=MANNER), rng), room, rng).samples
    else:
        lesson = built_lesson(played, factors=(1.0,))
        sound = play_along(lesson, lesson.ladder[0])
    answer = answer_take(sound, route)
    play = answer.plays[answer.best]
    assert play.swing.heard / (1 + play.swing.heard) == pytest.approx(ratio / (1 + ratio), abs=0.03)
    assert play.swing.kind == kind
    assert not [one for one in play.events if one.faults]
    assert [thing.kind for thing in play.practise] == ([kind] if kind else [])
    said = practise_words(play.practise[0], play, route, load_catalogue("en")) if kind else ""
    assert word in (said if kind else praise_said(play, route, word))


def praise_said(play, route, word):
    """What is praised where a note is not as asked and no bend is known to be in tune, if anything is asked."""
    unknown = [replace(one, cents=None) for one in play.events]
    slip = replace(unknown[3], faults=(AFault(FaultKind.FLAT, 30.0, 0.5),))
    events = (*unknown[:3], slip, *unknown[4:])
    return praise_words(praise_of(replace(play, events=events)), route, load_catalogue("en")) if word else ""


@pytest.mark.parametrize(
    ("semitones", "name", "octaves"),
    [
        (-3, "A", 0),
        (2, "D", 0),
        (5, "F", 0),
        (-5, "G", 0),
        (-6, "Low F#", 0),
        (12, "C", 1),
        (-12, "C", -1),
        (14, "D", 1),
    ],
)
def test_a_take_on_another_harp_is_answered_as_if_it_were_the_right_one(semitones, name, octaves):
    route = built_route(TEXT, key="C", bpm=96)
    faults = (Fault(Kind.MISSING, 6), Fault(Kind.LATE, 14, 0.12))
    answer = answer_take(sounded(route, heard_on=on_harp_of(route, semitones), faults=faults), route)
    heard = answer.harp_heard
    assert (heard.name, heard.semitones, heard.octaves, heard.holes) == (name, semitones, octaves, 0)
    assert heard.explained > 0.9 > 0.4 > heard.explained_as_asked
    found = {one.event: one.faults[0].kind for one in answer.plays[answer.best].events if one.faults}
    assert found == {6: FaultKind.MISSED, 14: FaultKind.LATE}
    assert answer.route == route
    assert answer.heard_route == on_harp_of(route, semitones)
    assert not answer.notices


@pytest.mark.parametrize("holes", [-2, -1, 1])
def test_the_phrase_some_holes_beside_on_the_right_harp_is_no_other_harp(holes):
    route = built_route("4b 5b 6b:1 5b 4b 4d 5d 6d:1 6b 5b 5d 4d 4b:1 6b 6d 7d 7b:1 6b 5b 4d 4b:2", key="C", bpm=96)
    beside = _some_holes_beside(route, holes)
    answer = answer_take(sounded(beside), route)
    assert (answer.harp_heard.semitones, answer.harp_heard.holes) == (0, holes)
    assert answer.best is None
    side = "right" if holes > 0 else "left"
    assert f"too far {side}" in format_answer(answer, load_catalogue("en"))


def test_other_music_is_no_other_harp():
    answer = answer_take(sounded(built_route(OTHER, key="C", bpm=90)), built_route(TEXT, key="A", bpm=96))
    assert answer.harp_heard is None
    assert answer.notices == (Notice.OTHER_MUSIC,)


def test_the_right_harp_with_many_faults_stays_the_right_one():
    route = built_route(TEXT, key="C", bpm=96)
    faults = tuple(Fault(Kind.MISSING, event) for event in (2, 5, 9, 13, 17, 20))
    answer = answer_take(sounded(route, faults=faults, condition=room), route)
    assert answer.harp_heard is None
    assert answer.best is not None


def test_of_many_tries_the_trend_and_what_comes_back_are_told():
    route = built_route("2d 3d' 4b 4d 5d 6b 5d 4d 3d' 2d:2", key="A", bpm=110)
    rng, deeds, start = np.random.default_rng(4), [], 0.6
    for missing in (4, 3, 2, 2, 1, 0):
        one = perform(route, rng, manner=MANNER, start=start)
        for event in (2, 4, 6, 7)[:missing]:
            one = faulted(one, Fault(Kind.MISSING, event))
        deeds += faulted(one, Fault(Kind.FLAT, 1, 45.0))
        start = max(deed.end for deed in deeds) + 1.5
    answer = answer_take(glue(route, deeds, rng).samples, route)
    assert len(answer.plays) == answer.tries.count == 6
    assert answer.best == 5
    assert answer.tries.trend is Trend.BETTER
    assert (answer.tries.first_share, answer.tries.last_share) == pytest.approx((0.55, 0.9), abs=0.1)
    assert (answer.tries.recurring.kind, answer.tries.recurring.events) == (FaultKind.FLAT, (1,))
    assert answer.tries.recurring_in == 6
    assert answer.praise.kind is PraiseKind.BETTER


@pytest.mark.parametrize("drift", [0.42, -0.3])
def test_a_tempo_that_is_not_kept_is_advice_of_its_own(drift):
    route = built_route(TEXT, key="A", bpm=96)
    rng = np.random.default_rng(5)
    take = glue(route, perform(route, rng, manner=Manner(factor=0.9, drift=drift)), rng)
    answer = answer_take(take.samples, route)
    (point,) = answer.plays[answer.best].practise
    assert point.kind is (FaultKind.RUSHES if drift > 0 else FaultKind.DRAGS)
    # the tempo grows evenly over the whole phrase, the last of its notes begins before its end
    assert point.amount == pytest.approx(100 * abs(drift), abs=6)
    assert answer.next_step.kind is NextStepKind.CLICK
