"""Notes that an event is slid through are asked for: they are part of it, not too many."""

from __future__ import annotations

import pytest
from msgspec import structs

from reedpath.harp import Breath, Move
from reedpath.listen import FaultKind
from support.built_routes import built_route
from support.heard_takes import HeardTake, own_level

PLAIN = built_route("2d 3d 4d 5d 4d 4d 6b", key="C", bpm=60)
# 4 draw is slid into through 4 blow
BLOW_4 = 72.0


def with_leads(number, *, lead_in=(), lead_out=()):
    events = list(PLAIN.events)
    choice = structs.replace(events[number].choice, lead_in=lead_in, lead_out=lead_out)
    events[number] = structs.replace(events[number], choice=choice)
    return structs.replace(PLAIN, events=tuple(events))


SLID_INTO = with_leads(2, lead_in=(Move((4,), Breath.BLOW),))
SLID_OUT_OF = with_leads(2, lead_out=(Move((4,), Breath.BLOW),))


def wrong(take):
    """The faults of each event that has any, by its number."""
    (play,) = take.answer().plays
    return {one.event: [fault.kind for fault in one.faults] for one in play.events if one.faults}


def slid(route, *, begins, arrives):
    """The take in which event 2 is slid into from one time on and reached at another, found where it is reached."""
    take = HeardTake(route)
    end, before = take.due[2] + 0.48, min(begins, take.due[2]) - 0.03
    take.sounding(1, end=before).placing(1, take.due[1], before)
    take.sounding("way", start=begins, end=arrives, midi=BLOW_4)
    return take.sounding(2, start=arrives, end=end).placing(2, arrives, end)


def test_the_way_into_a_note_begins_it():
    due = HeardTake(SLID_INTO).due[2]
    take = slid(SLID_INTO, begins=due, arrives=due + 0.1)
    (play,) = take.answer().plays
    assert (play.events[2].start_seconds, play.events[2].late_seconds) == pytest.approx((due, 0.0))
    assert wrong(take) == {}
    assert play.extras == ()


def test_the_same_note_is_too_many_where_no_way_is_asked():
    due = HeardTake(PLAIN).due[2]
    assert wrong(slid(PLAIN, begins=due - 0.15, arrives=due)) == {1: [FaultKind.EXTRA]}


def test_who_slides_before_the_beat_and_arrives_on_it_is_in_time():
    due = HeardTake(SLID_INTO).due[2]
    take = slid(SLID_INTO, begins=due - 0.15, arrives=due)
    (play,) = take.answer().plays
    assert play.events[2].start_seconds == pytest.approx(due - 0.15)
    assert play.events[2].late_seconds == 0.0
    assert wrong(take) == {}


def test_a_slide_that_begins_late_is_late():
    due = HeardTake(SLID_INTO).due[2]
    assert wrong(slid(SLID_INTO, begins=due + 0.12, arrives=due + 0.2)) == {2: [FaultKind.LATE]}


def test_another_note_before_it_is_not_the_way():
    due = HeardTake(SLID_INTO).due[2]
    take = slid(SLID_INTO, begins=due - 0.15, arrives=due).sounding("way", midi=77.0)
    assert wrong(take) == {1: [FaultKind.EXTRA]}


def test_arriving_is_no_second_strike():
    take = HeardTake(SLID_INTO)
    due = take.due[2]
    take.sounding("way", start=due, end=due + 0.12, midi=BLOW_4).sounding(2, start=due + 0.12)
    take.strikes = [due + 0.13]
    assert wrong(take) == {}
    take.strikes = [due + 0.13, due + 0.33]
    assert wrong(take) == {2: [FaultKind.EXTRA]}


def test_the_way_out_of_a_note_is_its_own():
    take = HeardTake(SLID_OUT_OF)
    due = take.due[2]
    take.sounding(2, end=due + 0.33).placing(2, due, due + 0.33)
    take.sounding("way", start=due + 0.34, end=due + 0.47, midi=BLOW_4)
    (play,) = take.answer().plays
    assert play.events[2].end_seconds == pytest.approx(due + 0.47, abs=0.011)
    assert wrong(take) == {}
    assert play.extras == ()


def test_a_note_that_is_played_without_its_way_is_right():
    assert wrong(HeardTake(SLID_INTO)) == {}
    assert wrong(HeardTake(SLID_OUT_OF)) == {}


def test_an_event_does_not_begin_while_the_note_before_still_sounds():
    take = HeardTake(PLAIN)
    due = take.due[2]
    take.sounding(1, end=due)
    # partials that the note before shares with it: they seem to begin a tenth of a second sooner
    take.levels[2] = own_level(due - 0.4, due + 0.6, dips=[(due - 0.4, due - 0.09, 30.0)])
    (play,) = take.answer().plays
    assert play.events[2].start_seconds == pytest.approx(due)
    assert wrong(take) == {}
