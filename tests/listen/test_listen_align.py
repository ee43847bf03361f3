"""Lining up synthetic takes, told apart by what is done in them (sound of the world: tests/outside)."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.hear import observe
from reedpath.listen import FaultKind, Verdict, answer_take, line_up, pitch_prior
from reedpath.listen.align import first_pass
from reedpath.listen.score_following import EventRun
from reedpath.listen.second_pass import gone_on_in_time
from reedpath.listen.segments import heard_in
from reedpath.phrase import timing_of
from reedpath.signal import Samples, concatenated, silence
from reedpath.sound import plan_route, render_tones
from support.built_routes import built_route
from support.sound_levels import padded

RATE = 22_050
ROUTE = built_route("2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 3d' 2d:2", key="A", bpm=96)


def played(route, factor=1.0, *, first=0, last=None):
    """A synthetic take of a stretch of a route."""
    from fractions import Fraction

    from msgspec.structs import replace

    events = route.events[first : None if last is None else last + 1]
    zero = events[0].event.onset
    moved = tuple(
        replace(one, event=replace(one.event, onset=one.event.onset - zero)) for one in events
    )  # fmt: skip
    phrase = replace(route.phrase, events=tuple(one.event for one in moved), pickup=Fraction(0))
    part = replace(route, phrase=phrase, events=moved)
    plan = plan_route(part, timing_of(phrase).scaled(factor)).delayed(0.3)
    sound = render_tones(plan.tones, seconds=plan.seconds + 0.5, rate=RATE)
    return Samples(np.asarray(sound), RATE), [span.start_seconds for span in plan.spans]


def lined(sound, route=ROUTE):
    return line_up(observe(sound), route).play_throughs


@pytest.mark.parametrize("factor", [0.5, 0.8, 1.0, 1.25])
def test_every_event_is_placed_at_any_tempo(factor):
    sound, onsets = played(ROUTE, factor)
    (play,) = lined(sound)
    assert play.whole
    assert not play.pauses
    assert not play.restarts
    assert play.tempo_factor == pytest.approx(factor, rel=0.02)
    assert [one.start_seconds for one in play.events] == pytest.approx(onsets, abs=0.03)
    assert all(one.played for one in play.events)


def test_a_stumble_hardly_changes_the_tempo():
    sound, onsets = played(ROUTE, 0.8)
    stumbles = onsets[-3] - 0.02
    (play,) = lined(concatenated([sound.span(0.0, stumbles), silence(1.5, rate=RATE), sound.span(stumbles)]))
    assert play.whole
    assert play.tempo_factor == pytest.approx(0.8, rel=0.02)


def test_the_same_take_later_is_lined_up_as_much_later():
    sound, _ = played(ROUTE)
    (first,), (second,) = lined(sound), lined(padded(sound, before_seconds=2.0))
    for one, other in zip(first.events, second.events, strict=True):
        assert other.start_seconds - one.start_seconds == pytest.approx(2.0, abs=0.011)
        assert one.played is other.played


def test_several_play_throughs_are_found_in_order():
    slow, _ = played(ROUTE, 0.7)
    fast, _ = played(ROUTE, 1.1)
    plays = lined(concatenated([slow, silence(2.0, rate=RATE), fast]))
    assert [play.whole for play in plays] == [True, True]
    assert [play.tempo_factor for play in plays] == pytest.approx([0.7, 1.1], rel=0.02)
    assert plays[0].end_seconds < plays[1].start_seconds


def test_a_part_of_the_route_is_told_as_a_part():
    sound, _ = played(ROUTE, first=4, last=11)
    (play,) = lined(sound)
    assert (play.first, play.last, play.whole) == (4, 11, False)


def test_going_back_and_on_is_one_play_through_with_a_restart():
    begin, _ = played(ROUTE, last=6)
    rest, _ = played(ROUTE, first=4)
    (play,) = lined(concatenated([begin.span(0.0, begin.duration_seconds - 0.3), rest]))
    assert play.whole
    (restart,) = play.restarts
    assert (restart.after, restart.back_to) == (6, 4)


def test_a_wrong_note_that_sounds_like_a_later_one_is_no_step_back_where_no_time_is_lost():
    route = built_route("4d' 4d 3d':1 3d 2d' 2d:1 4d 5d 6b:1 r:1/2 6b 6d 6d' 6b 5d:1 4d:2", key="B", bpm=98)
    first = first_pass(route, heard_in(observe(played(route)[0]), prior=pitch_prior(route.harp)))
    ((whole,),) = first.groups
    spans = whole.spans
    assert list(spans) == list(range(15))
    # what sounds for the ninth event is taken for the eleventh, and then it seems to go back to the tenth
    before = EventRun({**{place: spans[place] for place in range(8)}, 10: spans[8]})
    run = EventRun({place: spans[place] for place in range(9, 15)})
    joined = gone_on_in_time(first.table, before, run)
    assert joined.spans == {place: spans[place] for place in range(15) if place != 8}


def test_who_goes_back_and_plays_again_loses_time():
    route = built_route("4d' 4d 3d' 3d 2d' 2d 4d 5d 6b 6d 6d' 5d 4d:2", key="B", bpm=98)
    begin, _ = played(route, last=8)
    both = concatenated([begin.span(0.0, begin.duration_seconds - 0.3), played(route, first=6)[0]])
    first = first_pass(route, heard_in(observe(both), prior=pitch_prior(route.harp)))
    ((before, run),) = first.groups
    assert (before.last, run.first) == (8, 6)
    assert gone_on_in_time(first.table, before, run) is None


LONG = built_route(
    "2d 3d' 4b:1 4d' 4d 5d 6b:1 6b 5d 4d 3d' 2d:1 4b 5b 6b:1 6d 7b 8b:1 7b 6d 5d 4d' 4d:2", key="A", bpm=96
)


def gap_take(lost, times, *, last=7):
    """A take in which events are lost after one, and the rest comes after so many times their length."""
    begin, begins = played(LONG, last=last)
    rest, _ = played(LONG, first=last + 1 + lost)
    onsets = [timing_of(LONG.phrase).seconds_at(one.event.onset) for one in LONG.events]
    due = begins[last] + times * (onsets[last + 1 + lost] - onsets[last])
    return concatenated([padded(begin, after_seconds=10.0).span(0.0, due - 0.02), rest.span(0.28)])


def with_a_gap(lost, times):
    return lined(gap_take(lost, times), LONG)


@pytest.mark.parametrize("times", [0.85, 1.0, 1.25])
def test_many_lost_events_are_lost_in_time(times):
    (play,) = with_a_gap(6, times)
    assert play.whole
    assert [one.event for one in play.events if not one.played] == list(range(8, 14))


@pytest.mark.parametrize(("lost", "times", "found"), [(4, 1.35, 1), (6, 1.35, 2), (4, 0.75, 1), (6, 0.75, 2)])
def test_events_lost_out_of_time_are_another_place_where_they_are_many(lost, times, found):
    assert len(with_a_gap(lost, times)) == found


@pytest.mark.parametrize(("beats", "found"), [(0.0, 1), (1.5, 2)])
def test_what_is_left_out_in_time_is_left_out_and_after_a_while_is_another_place(beats, found):
    onsets = [timing_of(LONG.phrase).seconds_at(one.event.onset) for one in LONG.events]
    at_once = onsets[10] - onsets[9]
    later = beats * 60.0 / 96.0
    answer = answer_take(gap_take(6, (at_once + later) / (onsets[16] - onsets[9]), last=9), LONG)
    assert len(answer.plays) == found
    if found == 1:
        (play,) = answer.plays
        assert [one.event for one in play.events if one.verdict is Verdict.MISSED] == list(range(10, 16))
        # that the beat stops would be wrong: it goes on without them
        assert not any(fault.kind is FaultKind.PAUSE for one in play.events for fault in one.faults)


@pytest.mark.parametrize(("seconds", "found"), [(3.0, 1), (7.0, 2)])
def test_going_back_after_a_while_is_another_play_through(seconds, found):
    begin, _ = played(LONG, last=11)
    rest, _ = played(LONG, first=6)
    assert len(lined(concatenated([begin, silence(seconds, rate=RATE), rest]), LONG)) == found


def test_a_pause_is_told_and_does_not_make_the_rest_late():
    begin, _ = played(ROUTE, last=5)
    rest, _ = played(ROUTE, first=6)
    (play,) = lined(concatenated([begin, silence(0.6, rate=RATE), rest]))
    assert play.whole
    assert [pause.before for pause in play.pauses] == [6]
    assert max(abs(one.start_seconds - one.due_seconds) for one in play.events) < 0.05


@pytest.mark.parametrize(
    "sound",
    [
        silence(3.0, rate=RATE),
        silence(0.0, rate=RATE),
        Samples(np.random.default_rng(1).normal(0, 0.1, RATE * 4), RATE),
        Samples(0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE * 4) / RATE), RATE),
    ],
    ids=["silence", "nothing", "noise", "one tone"],
)
def test_what_is_no_playing_of_it_gives_no_play_through(sound):
    assert lined(sound) == ()


def test_another_phrase_is_not_taken_for_it():
    other = built_route("7b 8d:1 8b 9d 7d:1 6b 6d 7b 9b:1 8b 8d 7b:2", key="A", bpm=110)
    sound, _ = played(other)
    assert lined(sound) == ()


def test_a_route_of_nothing_and_a_route_of_one_note():
    nothing = built_route("", key="C")
    sound, _ = played(ROUTE)
    assert lined(sound, nothing) == ()
    one = built_route("4d:2", key="C")
    alone, _ = played(one)
    (play,) = lined(alone, one)
    assert play.whole
    assert play.events[0].played
