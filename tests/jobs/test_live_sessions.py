"""A live session: blocks of recorded harmonica in, what is heard out, at the other end of a channel of bytes."""

from __future__ import annotations

import json
import math
import tracemalloc

import numpy as np
import pytest

from reedpath.errors import SettingsError
from reedpath.harp import Alteration, Breath, Move, make_harp
from reedpath.jobs import listen_live
from reedpath.listen import BLOCK_BYTES, BLOCK_FRAMES, LiveAsked, LiveSession, packed_block
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform

ROUTE = built_route("2d:1 3d:1 4d:1 3d':2", key="C", bpm=90)


class TestChannel:
    """A channel whose messages are all there from the start."""

    __test__ = False

    def __init__(self, messages):
        self.waiting, self.sent = list(messages), []

    def receive(self):
        return self.waiting.pop(0) if self.waiting else None

    def send(self, message):
        self.sent.append(json.loads(message))


@pytest.fixture(scope="module")
def take():
    manner = Manner(jitter=0.0, detuned=0.0, slur=0.0, slide=0.0)
    deeds = perform(ROUTE, np.random.default_rng(1), manner=manner, start=0.5)
    return glue(ROUTE, deeds, rng=np.random.default_rng(2), after=0.2)


def blocks(sound, *, zero=0.0):
    for number, start in enumerate(range(0, len(sound) - BLOCK_FRAMES, BLOCK_FRAMES)):
        yield packed_block(number, start / RATE - zero, sound[start : start + BLOCK_FRAMES])


@pytest.mark.slow
def test_every_block_is_answered_and_every_event_is_heard(take):
    channel = TestChannel(blocks(take.samples.array[:, 0], zero=0.5))
    count = len(channel.waiting)
    listen_live(channel, LiveAsked(harp=ROUTE.harp, rate=RATE, route=ROUTE))
    ready, *answers = channel.sent
    assert ready == {"ready": True}
    assert [one["block"] for one in answers] == list(range(count))
    marks = [mark for one in answers for mark in one["marks"] if mark is not None]
    right = {event for _, _, _, event, _, is_right, _, _ in marks if is_right}
    assert right == {0, 1, 2, 3}
    assert {sign for _, _, _, event, _, is_right, sign, _ in marks if event == 3 and is_right} >= {"-3'"}


@pytest.mark.slow
def test_a_note_that_is_held_is_counted(take):
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -1)
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE, held=bend))
    answers = [session.answer(block) for block in blocks(take.samples.array[:, 0])]
    held = [one.held for one in answers if one.held is not None]
    assert [one.seconds for one in held] == [pytest.approx(1.3, abs=0.25)]
    assert answers[-1].longest == held[0]
    drawn = [mark for one in answers for mark in one.marks if mark is not None and mark.is_right]
    assert all(abs(mark.cents) <= 15 for mark in drawn)


def test_blocks_that_are_left_out_do_not_end_a_held_note(take):
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -1)
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE, held=bend))
    some = [block for number, block in enumerate(blocks(take.samples.array[:, 0])) if number % 80 > 25]
    answers = [session.answer(block) for block in some]
    assert {one.held for one in answers} == {None}
    assert 0.6 < max(one.holding.seconds for one in answers if one.holding is not None) < 1.2


@pytest.mark.slow
def test_blocks_may_be_left_out(take):
    some = [block for number, block in enumerate(blocks(take.samples.array[:, 0], zero=0.5)) if number % 40 > 8]
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE, route=ROUTE))
    marks = [mark for block in some for mark in session.answer(block).marks if mark is not None]
    assert {mark.event for mark in marks if mark.is_right} == {0, 1, 2, 3}


@pytest.mark.parametrize(
    "message",
    [
        b"",
        b"short",
        packed_block(0, 0.0, np.zeros(BLOCK_FRAMES + 1, np.float32)),
        packed_block(0, 0.0, np.zeros(BLOCK_FRAMES, np.float32))[:-1],
        packed_block(0, 0.0, np.zeros(BLOCK_FRAMES, np.float32)) + b"\0",
        packed_block(0, math.nan, np.zeros(BLOCK_FRAMES, np.float32)),
        packed_block(0, math.inf, np.zeros(BLOCK_FRAMES, np.float32)),
        packed_block(0, 1e300, np.zeros(BLOCK_FRAMES, np.float32)),
    ],
)
def test_what_is_no_block_is_refused(message):
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE))
    with pytest.raises(SettingsError) as told:
        session.answer(message)
    assert told.value.key == "listen.live_block"


def test_values_that_are_no_sound_are_taken_for_silence_or_noise():
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE))
    wild = np.resize(np.array([np.nan, np.inf, -np.inf, 3e38], np.float32), BLOCK_FRAMES)
    for number in range(40):
        assert all(mark is None for mark in session.answer(packed_block(number, 0.0, wild)).marks)


@pytest.mark.parametrize("rate", [0, -1, 7_999, 192_001])
def test_a_rate_that_no_sound_card_has_is_refused(rate):
    with pytest.raises(SettingsError) as told:
        LiveSession(LiveAsked(harp=ROUTE.harp, rate=rate))
    assert told.value.key == "listen.live_rate"


def test_a_whole_block_has_the_size_that_is_told():
    assert len(packed_block(7, 1.5, np.zeros(BLOCK_FRAMES, np.float32))) == BLOCK_BYTES


@pytest.mark.slow
def test_memory_does_not_grow_while_it_is_listened_to(take):
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -1)
    session = LiveSession(LiveAsked(harp=make_harp("C"), rate=RATE, route=ROUTE, held=bend))
    every = list(blocks(take.samples.array[:, 0], zero=0.5))
    for block in every:
        session.answer(block)
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    for _ in range(3):
        for block in every:
            session.answer(block)
    after, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert after - before < 100_000
