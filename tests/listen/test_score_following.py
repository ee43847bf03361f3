"""The way of a route through a take, on fits made by hand: what each price does, and what a live block may be."""

from __future__ import annotations

import math
import struct

import numpy as np
import pytest

from reedpath.errors import SettingsError
from reedpath.harp import Breath, Move, make_harp
from reedpath.listen import BLOCK_BYTES, BLOCK_FRAMES, LiveAsked, LiveSession, packed_block
from reedpath.listen.fit import BEST_LOG, STRAY, pitch_fit
from reedpath.listen.live_playing import DueEvents
from reedpath.listen.score_following import BETWEEN, NOTHING, SegmentFits, follow, runs_of
from reedpath.listen.segments import Segments
from support.built_routes import built_route

# what a segment that is an event's speaks for it, and any other against it
GOOD, BAD = 6.0, -3.0


def fits(heard, events, *, good=GOOD, bad=BAD, begins=None, struck=None, voiced=None, kinds=None):
    """A take whose segments sound like these events, -1 for like none."""
    count, kind_of = len(heard), np.array(kinds or range(events), dtype=np.intp)
    table = np.full((count, max(kind_of, default=0) + 1), bad)
    for segment, event in enumerate(heard):
        if event >= 0:
            table[segment, event] = good
    segments = Segments(
        cuts=10 * np.arange(count + 1, dtype=np.intp),
        seconds=0.1 * np.arange(count),
        begins=np.ones(count, dtype=np.bool_) if begins is None else np.array(begins),
        struck=np.ones(count, dtype=np.bool_) if struck is None else np.array(struck),
    )
    return SegmentFits(segments, table, kind_of, np.full(count, 10.0) if voiced is None else np.array(voiced))


def found(heard, events, *, lateness=None, **options):
    path = follow(fits(heard, events, **options), lateness=lateness)
    return path.event.tolist(), round(path.gain, 5)


def no_lateness(segment):
    return np.zeros(3)


def test_nothing_is_followed_through_nothing():
    assert found([], 3) == ([], 0.0)
    assert found([-1, -1], 0, kinds=[]) == ([NOTHING, NOTHING], 0.0)
    assert found([-1, -1], 3) == ([NOTHING, NOTHING], 0.0)


def test_a_run_is_paid_for_when_it_begins_and_ends():
    assert found([0, 1, 2], 3) == ([0, 1, 2], 3 * 6.0 - 4.5 - 1.0)
    # beside where it begins or ends within the route
    assert found([1, 2], 3) == ([1, 2], 2 * 6.0 - 4.5 - 3.0 - 1.0)
    assert found([0, 1], 3) == ([0, 1], 2 * 6.0 - 4.5 - 1.0 - 1.0)
    # too little to be a run
    assert found([0, 1, 2], 3, good=1.8) == ([NOTHING] * 3, 0.0)


def test_each_event_that_is_skipped_is_paid_for():
    assert found([0, 2], 3) == ([0, 2], 2 * 6.0 - 4.5 - 1.0 - 4.0)
    assert found([0, 1, 4, 5], 6) == ([0, 1, 4, 5], 4 * 6.0 - 4.5 - 1.0 - 2 * 4.0)


def test_where_the_time_is_known_what_is_missing_at_the_ends_is_paid_for_as_skipped():
    assert found([0, 1, 2], 3, lateness=no_lateness) == ([0, 1, 2], 12.5)
    assert found([1, 2], 3, lateness=no_lateness) == ([1, 2], 2 * 6.0 - 4.5 - 4.0 - 1.0)
    assert found([0, 1], 3, lateness=no_lateness) == ([0, 1], 2 * 6.0 - 4.5 - 1.0 - 4.0)

    def later(some: slice) -> np.ndarray:
        return 0.5 * np.arange(3)[some, np.newaxis] * np.ones(3)

    assert found([0, 1, 2], 3, lateness=later) == ([0, 1, 2], 12.5 - 1.5)


def test_sound_between_events_costs_by_its_frames():
    assert found([0, -1, 1, 2], 3) == ([0, BETWEEN, 1, 2], 12.5 - 0.6)
    assert found([0, -1, -1, 1, 2], 3, voiced=[10, 10, 0, 10, 10]) == ([0, BETWEEN, BETWEEN, 1, 2], 12.5 - 0.6)


@pytest.mark.parametrize(("begins", "struck", "price"), [(True, True, 1.5), (True, False, 0.5), (False, True, 0.0)])
def test_a_note_heard_to_begin_within_an_event_speaks_against_it(begins, struck, price):
    assert found([0, 0], 1, begins=[True, begins], struck=[True, struck]) == ([0, 0], 2 * 6.0 - 5.5 - price)


def test_an_event_that_is_not_heard_to_begin_is_doubted():
    assert found([0, 1, 2], 3, begins=[True, False, True]) == ([0, 1, 2], 12.5 - 1.5)
    # and of the same pitch as the one before it is taken for that held on
    repeated = {"kinds": [0, 0]}
    assert found([0, 0], 2, **repeated) == ([0, 1], 2 * 6.0 - 5.5)
    assert found([0, 0], 2, begins=[True, False], **repeated) == ([0, 0], 2 * 6.0 - 4.5 - 2.0)


def test_an_event_begins_with_some_sound():
    assert found([0, 1], 2, voiced=[10, 2]) == ([0, 1], 2 * 6.0 - 5.5)
    assert found([0, 1], 2, voiced=[10, 1]) == ([NOTHING, NOTHING], 0.0)


def test_no_segment_speaks_too_loud():
    assert found([0], 1, good=99.0) == ([0], 0.5)
    assert found([0, -1, 0], 1, begins=[True, False, False], bad=-99.0, voiced=[10, 100, 10]) == (
        [0, 0, 0],
        12.0 - 3.5 - 5.5,
    )


def test_runs_follow_one_another():
    path = follow(fits([0, 1, -1, 0, 0, 1], 2, begins=[True, True, True, True, False, True]))
    assert path.begun.tolist() == [True, False, False, True, False, False]
    first, second = runs_of(path)
    assert first.spans == {0: (0, 0), 1: (1, 1)}
    assert second.spans == {0: (3, 4), 1: (5, 5)}
    assert (second.first, second.last, second.first_segment, second.last_segment) == (0, 1, 3, 5)
    assert path.gain == pytest.approx(5 * 6.0 - 2 * 5.5)


def test_a_stretch_of_a_take_is_held_against_a_stretch_of_a_route():
    part = fits([0, 1, 2, 1], 3).part(slice(1, 3), slice(1, 3))
    assert (len(part.segments), part.segments.cuts.tolist()) == (2, [10, 20, 30])
    assert part.segments.seconds == pytest.approx([0.1, 0.2])
    assert follow(part).event.tolist() == [0, 1]


@pytest.mark.parametrize("seed", range(8))
def test_of_two_ways_worth_the_same_the_sooner_counts_whatever_rounding_favours(seed):
    noise = np.random.default_rng(seed).normal(0.0, 1e-7, (7, 3))
    one_missing = fits([0, 1, 2], 4, kinds=[0, 1, 1, 2])
    one_too_many = fits([0, 1, 1, 1, 2], 4, kinds=[0, 1, 1, 2], begins=[1, 1, 1, 1, 1])
    for heard, expected in ((one_missing, [0, 1, 3]), (one_too_many, [0, 1, 2, 2, 3])):
        heard.fit[:] = (heard.fit + noise[: len(heard.fit)]) * (1.0 + seed / 7.0)
        assert follow(heard).event.tolist() == expected


# ---------------------------------------------------------------------------------------------------- fits of pitch


def test_a_pitch_speaks_for_its_event_where_it_is_near_and_never_too_loud_against_it():
    fit = pitch_fit(np.array([60.0, 72.0, 90.0, 66.0, 58.9]), (60.0, 72.0), 59.0, 72.0)
    assert fit[:2] == pytest.approx([BEST_LOG, BEST_LOG])
    assert fit[2] == pytest.approx(math.log(STRAY))
    assert fit[3] == 0.0  # on the way from one to the other
    assert math.log(STRAY) < fit[4] <= 0.0
    assert pitch_fit(np.array([61.0]), (60.0,), 60.0, 60.0)[0] == pytest.approx(
        math.log(0.4 + 0.6 * 30 * math.exp(-0.5 * 2.5**2) / (0.4 * math.sqrt(2 * math.pi)))
    )


DUE = DueEvents(built_route("4b:1 4d:1 5d:1", bpm=60), 1.0)


@pytest.mark.parametrize(
    ("seconds", "midi", "index"),
    [
        (0.5, 72.0, 0),
        (1.5, 74.0, 1),
        (0.95, 74.0, 1),
        (1.05, 72.0, 0),
        (0.5, 77.0, 0),
        (3.1, 77.0, 2),
        (-0.1, 72.0, 0),
        (3.3, 77.0, None),
        (-0.3, 72.0, None),
        (3.1, 60.0, None),
    ],
)
def test_a_pitch_belongs_to_the_event_whose_time_it_is_or_that_it_is_a_little_off(seconds, midi, index):
    event = DUE.at(seconds, midi)
    assert (None if event is None else event.index) == index


def test_events_are_due_sooner_where_they_are_played_faster():
    twice = DueEvents(built_route("4b:1 4d:1 5d:1", bpm=60), 2.0)
    assert [twice.at(seconds, midi).index for seconds, midi in ((0.25, 72.0), (0.75, 74.0), (1.25, 77.0))] == [
        0,
        1,
        2,
    ]
    assert DueEvents(built_route("")).at(0.0, 60.0) is None


# -------------------------------------------------------------------------------------------------- blocks of sound

HARP = make_harp("C")
SILENT = np.zeros(BLOCK_FRAMES, np.float32)


@pytest.fixture(scope="module")
def session():
    return LiveSession(LiveAsked(harp=HARP, rate=48_000))


@pytest.mark.parametrize("rate", [7_999, 192_001])
def test_a_rate_that_no_card_has_is_refused(rate):
    with pytest.raises(SettingsError) as raised:
        LiveSession(LiveAsked(harp=HARP, rate=rate))
    assert raised.value.values == {"rate": rate, "least": 8_000, "most": 192_000}


def test_a_block_is_a_header_and_its_frames():
    packed = packed_block(7, 1.5, SILENT)
    assert len(packed) == BLOCK_BYTES == 16 + 4 * 256
    assert struct.unpack_from("<IId", packed) == (7, 256, 1.5)
    assert packed_block(1, 0.0, np.array([1.0]))[16:] == struct.pack("<f", 1.0)


def test_every_block_is_answered_under_its_number(session):
    assert session.answer(packed_block(5, 1e6, SILENT)).block == 5
    assert session.answer(packed_block(6, -1e6, SILENT[:10])).block == 6
    answer = session.answer(packed_block(2, 0.0, np.full(BLOCK_FRAMES, 1e30, np.float32)))
    assert (answer.block, answer.holding, answer.longest) == (2, None, None)


@pytest.mark.parametrize(
    "block",
    [
        b"",
        b"x" * 15,
        packed_block(0, 0.0, SILENT)[:-1],
        packed_block(0, 0.0, SILENT) + b"x",
        packed_block(0, 0.0, np.zeros(BLOCK_FRAMES + 1, np.float32)),
        packed_block(0, math.nan, SILENT),
        packed_block(0, math.inf, SILENT),
        packed_block(0, 1e6 + 1, SILENT),
        packed_block(0, -1e6 - 1, SILENT),
    ],
    ids=["nothing", "no header", "short", "long", "too many", "nan", "inf", "late", "early"],
)
def test_what_is_no_block_is_refused(session, block):
    with pytest.raises(SettingsError) as raised:
        session.answer(block)
    assert raised.value.values == {"size": len(block), "wanted": BLOCK_BYTES}


def test_a_held_note_is_told_by_its_target_and_what_is_lost_counts_neither_way():
    held = Move((4,), Breath.DRAW)
    session = LiveSession(LiveAsked(harp=HARP, rate=48_000, held=held, tolerance_cents=25.0))
    hz, per_block = 440.0 * 2.0 ** ((74.0 - 69.0 + 0.1) / 12.0), BLOCK_FRAMES / 48_000
    at = np.arange(48_000) / 48_000
    sound = (0.3 * sum(np.sin(2 * np.pi * n * hz * at) / n for n in range(1, 6))).astype(np.float32)
    answers = []
    for number in range(100):
        part = sound[number * BLOCK_FRAMES : (number + 1) * BLOCK_FRAMES]
        answers.append(session.answer(packed_block(number, number * per_block, part)))
    before = answers[-1].holding
    assert before is not None
    assert before.seconds > 0.35
    marks = [mark for mark in answers[-1].marks if mark is not None]
    assert all(mark.is_right for mark in marks)
    assert [mark.cents for mark in marks] == [pytest.approx(10.0, abs=12.0)] * len(marks)
    # ten blocks are lost, and the note goes on
    part = sound[100 * BLOCK_FRAMES : 101 * BLOCK_FRAMES]
    after = session.answer(packed_block(110, 110 * per_block, part)).holding
    assert after is not None
    assert after.seconds - before.seconds == pytest.approx(per_block, abs=0.005)
