"""Playing along, live: which event a sound belongs to, how far off it is, how long a note is held in tune."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.harp import Alteration, Breath, Move, make_harp
from reedpath.listen import HeldNote, LivePlaying
from reedpath.listen.expected import sounding_midi
from reedpath.listen.live_playing import NO_EVENT, DueEvents
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.reed_tones import reed_tone

# half a second each
ROUTE = built_route("2d 3d 4d r 4d 3d' 2b:1", key="C", bpm=60)
DRAW_2, DRAW_3, BENT_3, DRAW_4 = 67.0, 71.0, 70.0, 74.0


def event_at(seconds, midi, **options):
    found = DueEvents(ROUTE, **options).at(seconds, midi)
    return None if found is None else found.index


@pytest.mark.parametrize(
    ("seconds", "midi", "event"),
    [
        (0.2, DRAW_2, 0),
        (0.2, 60.0, 0),  # a wrong note in an event's time is that event played wrong
        (0.42, DRAW_3, 1),  # a note that comes early is its own event's
        (0.58, DRAW_2, 0),  # and one that is held too long
        (0.5, 72.0, 1),
        (1.75, 90.0, None),  # a sound in a rest belongs to none
        (1.4, DRAW_4, 2),
        (1.9, DRAW_4, 3),
        (-1.0, DRAW_2, None),
        (9.0, DRAW_2, None),
        (2.6, DRAW_3, 4),  # on the way down into the bend
    ],
)
def test_a_sound_belongs_to_the_event_that_explains_it_best(seconds, midi, event):
    assert event_at(seconds, midi) == event


def test_at_half_the_tempo_all_is_due_at_twice_the_time():
    assert event_at(0.9, DRAW_2, factor=0.5) == 0
    assert event_at(1.2, DRAW_3, factor=0.5) == 1


def test_an_empty_route_has_no_events():
    assert DueEvents(built_route("r:4")).at(0.5, 60.0) is None


def played(samples, route, *, zero, block=256):
    """What is marked in a sound; zero is where beat 0 lies in it, seconds."""
    playing, marks = LivePlaying(route.harp, samples.rate, route=route), []
    sound = samples.array[:, 0].astype(np.float32)
    for start in range(0, len(sound), block):
        marks += playing.feed(sound[start : start + block], start / samples.rate - zero)
    return marks


def middle_marks(marks, deed, zero):
    start, end = deed.start - zero + 0.1, deed.end - zero - 0.03
    return [one for one in marks if one is not None and start < one.seconds < end]


@pytest.mark.slow
@pytest.mark.parametrize("key", ["C", "Low D"])
def test_recorded_notes_are_drawn_on_their_events_in_time_and_in_tune(key):
    route = built_route("2d:1 3d:1 4d:1 4b:1 3d'':1 2d:1 5b:1", key=key, bpm=90)
    manner = Manner(jitter=0.0, detuned=0.0, slur=0.0, slide=0.0)
    deeds = perform(route, np.random.default_rng(1), manner=manner, start=0.6)
    take = glue(route, deeds, rng=np.random.default_rng(2))
    marks = played(take.samples, route, zero=0.6)
    for deed in take.deeds:
        seen = middle_marks(marks, deed, 0.6)
        assert len(seen) > 40
        assert {one.event for one in seen} == {deed.event}
        assert np.median([abs(one.cents) for one in seen]) < 5
        assert np.mean([one.is_right for one in seen]) > 0.9
        hole = deed.move.holes[0]
        assert {one.hole for one in seen} == {hole}
        assert np.median([one.semitones for one in seen]) == pytest.approx(deed.move.semitones, abs=0.1)


def test_a_bend_that_is_too_shallow_lies_on_its_hole_and_is_not_right():
    route = built_route("3d':2", key="C", bpm=60)
    sound = reed_tone(DRAW_3 - 0.6, 1.0, rate=RATE)
    seen = [one for one in played(sound, route, zero=0.0) if one is not None and 0.3 < one.seconds < 0.9]
    assert {(one.event, one.hole, one.is_right) for one in seen} == {(0, 3, False)}
    assert np.median([one.cents for one in seen]) == pytest.approx(40, abs=3)
    assert np.median([one.semitones for one in seen]) == pytest.approx(-0.6, abs=0.03)


def test_a_note_that_is_not_asked_for_lies_on_its_own_hole():
    route = built_route("2d:2", key="C", bpm=60)
    seen = [one for one in played(reed_tone(DRAW_4, 0.8, rate=RATE), route, zero=0.0) if one is not None]
    settled = [one for one in seen if 0.2 < one.seconds < 0.7]
    assert {(one.event, one.hole, one.is_right) for one in settled} == {(0, 4, False)}


def test_without_a_route_moves_are_named_and_belong_to_no_event():
    playing = LivePlaying(make_harp("C"), RATE)
    sound = reed_tone(DRAW_4, 0.5, rate=RATE).array[:, 0].astype(np.float32)
    marks = [one for one in playing.feed(sound, 10.0) if one is not None]
    settled = [one for one in marks if 10.2 < one.seconds < 10.4]
    assert settled
    assert {(one.event, one.hole) for one in settled} == {(NO_EVENT, 4)}
    assert all(abs(one.cents) < 5 for one in settled)


def test_the_clock_may_leap_between_blocks():
    playing = LivePlaying(make_harp("C"), RATE)
    sound = reed_tone(DRAW_4, 0.5, rate=RATE).array[:, 0].astype(np.float32)
    playing.feed(sound[:8000], 0.0)
    later = [one for one in playing.feed(sound[8000:], 100.0) if one is not None]
    assert all(99.9 < one.seconds < 100.4 for one in later)


# ---------------------------------------------------------------------------------------------------- a held note


def heard(course, *, tolerance=15.0, step=0.004):
    """A held note after a course of (seconds, cents), None for silence; and what ended on the way."""
    note, at, ended = HeldNote(tolerance), 0.0, []
    for seconds, cents in course:
        for _ in range(round(seconds / step)):
            over = note.hear(at, cents)
            ended += [over] if over else []
            at += step
    return note, ended


def test_a_note_counts_as_long_as_it_is_within_the_tolerance():
    note, _ = heard([(0.5, 40.0), (1.0, 12.0)])
    assert note.now is not None
    assert note.now.seconds == pytest.approx(1.0, abs=0.01)
    assert note.now.cents == 12.0


def test_a_short_slip_does_not_end_it_and_a_long_one_does():
    note, ended = heard([(1.0, 0.0), (0.08, 60.0), (1.0, 2.0)])
    assert not ended
    assert note.now is not None
    assert note.now.seconds == pytest.approx(2.08, abs=0.01)
    note, ended = heard([(1.0, -14.0), (0.2, None), (0.5, 0.0)])
    assert [one.seconds for one in ended] == [pytest.approx(1.0, abs=0.01)]
    assert note.longest == ended[0]
    assert note.now is not None
    assert note.now.seconds == pytest.approx(0.5, abs=0.01)


def test_next_to_nothing_is_not_held():
    note, ended = heard([(0.2, 0.0), (0.3, None)])
    assert not ended
    assert note.longest is None
    assert note.end() is None


def test_its_middle_and_how_steady_it_is_are_told():
    rng = np.random.default_rng(4)
    note = HeldNote(25.0)
    cents = rng.normal(-6.0, 4.0, 3000)
    for step, one in enumerate(cents):
        note.hear(0.004 * step, float(one))
    assert note.now is not None
    assert note.now.cents == pytest.approx(np.median(cents), abs=0.6)
    assert note.now.unsteady_cents == pytest.approx(np.std(cents), abs=0.1)


def test_what_could_not_be_heard_counts_neither_way():
    note, ended = HeldNote(15.0), []
    for step in range(250):
        ended.append(note.hear(0.004 * step, 0.0))
    note.miss(0.5)
    for step in range(250):
        ended.append(note.hear(1.5 + 0.004 * step, 0.0))
    assert set(ended) == {None}
    assert note.now is not None
    assert note.now.seconds == pytest.approx(2.0, abs=0.01)


def test_a_clock_that_leaps_back_ends_it():
    note = HeldNote(15.0)
    for step in range(200):
        note.hear(5.0 + 0.004 * step, 0.0)
    assert note.hear(0.0, 0.0) is not None
    assert note.now is not None
    assert note.now.seconds == 0.0


@pytest.mark.slow
def test_a_recorded_bend_is_held():
    harp = make_harp("A")
    move = Move((4,), Breath.DRAW, Alteration.BEND, -1)
    route = built_route("4d':4", key="A", bpm=60)
    manner = Manner(jitter=0.0, detuned=0.0, slide=0.0)
    deeds = perform(route, np.random.default_rng(1), manner=manner, start=0.3)
    take = glue(route, deeds, rng=np.random.default_rng(2))
    playing, note = LivePlaying(harp, RATE), HeldNote(15.0)
    target = sounding_midi(harp, move)[0]
    for mark in playing.feed(take.samples.array[:, 0].astype(np.float32), 0.0):
        if mark is not None:
            note.hear(mark.seconds, 100 * (69 + 12 * np.log2(mark.hz / 440) - target))
    held = note.end() or note.longest
    assert held is not None
    assert 2.0 < held.seconds < 4.2
    assert abs(held.cents) < 5
