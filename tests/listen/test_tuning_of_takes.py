"""When a harp is said to be tuned otherwise, which playing is the best, and what stands between events."""

from __future__ import annotations

import pytest
from msgspec import structs

from reedpath.hear import Condition
from reedpath.listen import FaultKind, LinedUp, Restart, answer_of
from reedpath.listen.time_map import Pause
from support.built_routes import built_route
from support.heard_takes import HeardTake

ROUTE = built_route("2d 3d 4d 5d 4d 4d 6b", key="C", bpm=60)


def tuned(*cents, text="2d 3d 4d 5d 4d 4d 6b"):
    """What a take says of the harp's tuning whose notes are off by these cents."""
    take = HeardTake(built_route(text, key="C", bpm=60))
    for number, off in enumerate(cents):
        take.sounding(number, midi=take.sounds[number].midi + off / 100.0)
    return take.answer().tuned_cents


@pytest.mark.parametrize(("cents", "found"), [(5.5, 0.0), (6.5, 6.5), (-5.5, 0.0), (-6.5, -6.5), (20.0, 20.0)])
def test_a_harp_is_tuned_otherwise_from_six_cents_on(cents, found):
    assert tuned(*[cents] * 7) == pytest.approx(found, abs=0.05)


def test_six_natural_notes_tell_it_and_bends_do_not():
    assert tuned(*[10.0] * 6, text="2d 3d 4d 5d 4d 6b") == pytest.approx(10.0, abs=0.05)
    assert tuned(*[10.0] * 5, text="2d 3d 4d 5d 6b") == 0.0
    assert tuned(*[10.0] * 7, text="2d 3d' 4d 5d 4d' 4d 6b") == 0.0
    assert tuned(*[10.0] * 8, text="2d 3d' 4d 5d 4d' 4d 6b 4b") == pytest.approx(10.0, abs=0.05)


def test_notes_that_do_not_agree_tell_nothing_of_the_harp():
    assert tuned(*[20.0, 5.0] * 3, 12.0) == 0.0
    assert tuned(*[12.0, 4.0] * 3, 8.0) == pytest.approx(8.0, abs=0.05)


def answered(**changes):
    """The answer to a perfect take whose play-through is changed."""
    lined_up = HeardTake(ROUTE).lined_up()
    (play,) = lined_up.play_throughs
    changed = LinedUp(ROUTE, lined_up.score, lined_up.hearing, (structs.replace(play, **changes),))
    return answer_of(changed, Condition(6.0, 44_100, 1, 0.5, 0.0, 0.9))


def faults(answer):
    (play,) = answer.plays
    return {one.event: [(fault.kind, fault.amount) for fault in one.faults] for one in play.events if one.faults}


def test_a_pause_is_told_of_the_note_after_it():
    assert faults(answered(pauses=(Pause(3, 0.7),))) == {3: [(FaultKind.PAUSE, 0.7)]}
    assert faults(answered(pauses=(Pause(0, 0.7),))) == {0: [(FaultKind.PAUSE, 0.7)]}


def test_a_step_back_is_told_by_how_much_is_played_again_and_explains_the_pause_after_it():
    back = Restart(2.0, 2.5, after=3, back_to=2)
    assert faults(answered(restarts=(back,))) == {3: [(FaultKind.RESTART, 2.0)]}
    assert faults(answered(restarts=(back,), pauses=(Pause(4, 0.7),))) == {3: [(FaultKind.RESTART, 2.0)]}
    both = faults(answered(restarts=(back,), pauses=(Pause(5, 0.7),)))
    assert both == {3: [(FaultKind.RESTART, 2.0)], 5: [(FaultKind.PAUSE, 0.7)]}


def test_the_best_playing_has_the_most_notes_right_and_of_equal_ones_the_first_is_taken():
    lined_up = HeardTake(ROUTE).lined_up()
    (play,) = lined_up.play_throughs
    part = structs.replace(play, events=play.events[:3], whole=False)
    for plays, best in (((part, play), 1), ((play, part), 0), ((play, play), 0)):
        both = LinedUp(ROUTE, lined_up.score, lined_up.hearing, plays)
        assert answer_of(both, Condition(6.0, 44_100, 1, 0.5, 0.0, 0.9)).best == best
    nothing = LinedUp(ROUTE, lined_up.score, lined_up.hearing, ())
    assert answer_of(nothing, Condition(6.0, 44_100, 1, 0.5, 0.0, 0.9)).best is None


def test_right_notes_are_told_as_a_share_of_those_tried():
    (play,) = answered(pauses=(Pause(3, 0.7),)).plays
    assert play.right_share == pytest.approx(6 / 7)
    assert (play.play.first, play.play.last) == (0, 6)
    assert [one.event for one in play.play.heard] == list(range(7))
