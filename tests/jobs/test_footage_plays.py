"""What is only begun in raw footage, and what goes on after a pause, on notes and stretches typed by hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.film import FoundPlay
from reedpath.hear import HOP_SECONDS, HeardNote, SoundCourse
from reedpath.jobs import footage_plays
from reedpath.jobs.footage_plays import (
    _apart,
    _around,
    _begun,
    _common,
    _counted_from,
    _goes_on,
    _in_time,
    _longest_pause,
    _moved,
    _placed,
    _sessions,
    _sounds_of,
    _stretches,
    _sure_notes,
)
from reedpath.lesson import LessonPart
from reedpath.listen import HarpHeard, score_of
from reedpath.listen.play_through import Restart
from reedpath.listen.time_map import Pause
from reedpath.signal import Samples
from support.pieces import porch
from support.play_throughs import play_through

# parts A, events 0 to 7, and B, 8 to 14, a beat of 0.6 s each but the last; tempos of 0.76, 0.88 and 1
LESSON = porch()
MIDI = [round(one.midi[0]) for one in score_of(LESSON.route).events]
BEAT = 0.6
LOW = HarpHeard("A", -3, 0, 0, 0.9, 0.1)


def note(start: float, midi: int, confidence: float = 0.9) -> HeardNote:
    nothing = np.zeros(0)
    return HeardNote(start, start + 0.5, midi, 0.0, confidence, -20.0, True, nothing, nothing)


def notes(*events: int, factor: float = 1.0) -> list[tuple[int, HeardNote]]:
    """The notes of some events, in time at a share of the full tempo."""
    return [(index, note(2.0 + BEAT * (index - events[0]) / factor, MIDI[index])) for index in events]


def flags(seconds: float, *spans: tuple[float, float]) -> np.ndarray:
    found = np.zeros(round(seconds / HOP_SECONDS), dtype=bool)
    for start, end in spans:
        found[round(start / HOP_SECONDS) : round(end / HOP_SECONDS)] = True
    return found


def course(
    tone: Sequence[tuple[float, float]], talk: Sequence[tuple[float, float]] = (), seconds: float = 30.0
) -> SoundCourse:
    level = np.full(round(seconds / HOP_SECONDS), -20.0, dtype=np.float32)
    return SoundCourse(level, flags(seconds, *talk), flags(seconds, *tone), flags(seconds))


# ------------------------------------------------------------------------------------------------ what is only begun


@pytest.mark.parametrize(
    ("factor", "is_it"), [(1.0, True), (0.76, True), (0.6, True), (0.57, False), (1.28, True), (1.32, False)]
)
def test_what_is_begun_is_at_a_tempo_of_the_lesson_or_a_third_beyond(factor: float, is_it: bool) -> None:
    found = _placed(notes(0, 1, 2, 3, factor=factor), 5, LESSON)
    assert (found is not None) is is_it
    if found is not None:
        play = found.play
        assert play.tempo_factor == pytest.approx(factor)
        assert [one.event for one in play.events] == [0, 1, 2, 3]
        assert (play.start_seconds, play.end_seconds) == pytest.approx((2.0, 2.5 + 3 * BEAT / factor))
        assert all(one.played and one.due_seconds == one.start_seconds for one in play.events)
        assert (found.right, found.worth, found.only_begun) == (0.8, 2.0, True)
        assert not play.whole


def test_the_most_notes_that_are_the_events_in_their_order() -> None:
    asked = dict(enumerate(MIDI))
    heard = [note(float(place), midi) for place, midi in enumerate([MIDI[0], 40, MIDI[1], MIDI[3], MIDI[2]])]
    own = _common(range(4), heard, asked)
    assert [index for index, _ in own] in ([0, 1, 2], [0, 1, 3])
    assert [one.midi for _, one in own] == [MIDI[index] for index, _ in own]
    assert [one.start_seconds for _, one in own] == sorted(one.start_seconds for _, one in own)
    assert _common(range(4), [], asked) == []


@pytest.mark.parametrize(
    ("heard", "events"),
    [
        ([MIDI[0], MIDI[1], MIDI[2]], [0, 1, 2]),
        ([MIDI[8], MIDI[9], MIDI[10], MIDI[11]], [8, 9, 10, 11]),
        ([MIDI[0], MIDI[1], 40, MIDI[3]], [0, 1, 3]),  # seven tenths of them are its own
        ([MIDI[0], 40, 41, MIDI[3]], None),
        ([40, MIDI[1], MIDI[2], MIDI[3]], None),  # not how it begins
        ([MIDI[0], MIDI[1]], [0, 1]),
        ([MIDI[1], MIDI[2]], None),  # two notes that are not the first
        ([MIDI[0], 40], None),
        ([MIDI[0], MIDI[0]], None),
        ([MIDI[0]], None),  # too few to tell
        ([*MIDI[:8], 40], None),  # more than the part has
    ],
)
def test_the_beginning_of_a_part_is_told_by_its_first_notes(monkeypatch, heard: list[int], events) -> None:
    found = [note(1.0 + BEAT * place, midi) for place, midi in enumerate(heard)]
    unsure = note(0.5, 50, confidence=0.3)
    monkeypatch.setattr(footage_plays, "hear_notes", lambda sound, prior: [unsure, *found])
    begun = _begun(_sure_notes(None, LESSON), LESSON)
    assert (None if begun is None else [one.event for one in begun.play.events]) == events


@pytest.mark.parametrize("wrong", [1, 2])
def test_of_two_notes_that_would_do_the_one_in_time_is_taken(wrong: int) -> None:
    """A wrong note that is alike one beside it; taken for that one, the try would be at another tempo."""
    parts = tuple(LessonPart(label, 4 * place, 4 * place + 3, None) for place, label in enumerate("ABC"))
    asked = MIDI[4:8]
    for beside in (wrong - 1, wrong + 1):
        played = [*asked[:wrong], asked[beside], *asked[wrong + 1 :]]
        found = [note(2.0 + place * BEAT / 0.76, midi) for place, midi in enumerate(played)]
        begun = _begun(found, replace(LESSON, parts=parts))
        assert begun is not None
        assert begun.play.tempo_factor == pytest.approx(0.76)
        assert [one.event - 4 for one in begun.play.events] == [place for place in range(4) if place != wrong]


# steps between notes, each as a share of the tempo
@pytest.mark.parametrize(
    ("steps", "factor"),
    [
        ((0.76, 0.76, 0.76), 0.76),
        ((0.75, 0.5, 0.74, 0.75), 0.745),  # a note before it was left out
        ((1.0, 0.51, 1.03), 1.0),  # a note played twice
        ((0.76, 0.57, 1.14), 0.76),  # a note that came late
        ((0.5, 0.75), 0.75),  # of two that do not agree, the one at a tempo of the lesson
        ((0.6, 0.64), 0.62),  # one that is of no tempo of the lesson, kept
        ((0.76,), 0.76),
    ],
)
def test_the_tempo_of_a_few_notes_is_that_of_most_steps(steps: tuple[float, ...], factor: float) -> None:
    at, events = 2.0, []
    for index, share in enumerate((*steps, 1.0)):
        events.append((index, at, at + 0.5))
        at += BEAT / share
    play = play_through(events, factor=0.6)
    assert _in_time(FoundPlay(play, 0.8, 3.0), LESSON).play.tempo_factor == pytest.approx(factor, abs=0.01)


def test_the_tempo_of_many_notes_is_left_alone() -> None:
    play = play_through([(index, 2.0 + index, 2.5 + index) for index in range(13)], factor=0.76)
    assert _in_time(FoundPlay(play, 1.0, 8.0), LESSON).play.tempo_factor == 0.76


# -------------------------------------------------------------------------------------------- what is one after all


def found_play(*events: tuple[int, float, float]) -> FoundPlay:
    return FoundPlay(play_through(events), 1.0, float(len(events)))


@pytest.mark.parametrize(
    ("came", "goes_on"),
    [(3 * BEAT, True), (3 * BEAT + 0.7, True), (3 * BEAT + 0.75, False), (3 * BEAT - 0.75, False)],
)
def test_what_comes_when_it_is_due_is_the_rest(came: float, goes_on: bool) -> None:
    """Event 5 is due three beats, 1.8 s, after event 2; by two fifths of that it may come too soon or too late."""
    before = found_play((1, 9.4, 9.9), (2, 10.0, 10.5))
    assert _goes_on(before, found_play((5, 10.0 + came, 10.5 + came)), LESSON) is goes_on


def test_two_short_parts_one_after_the_other_are_both_found() -> None:
    """Of what is heard at the same time the best is taken, and what lies apart from it too."""
    first, second = found_play((0, 1.0, 1.5), (1, 2.0, 2.5), (2, 3.0, 3.5)), found_play((8, 5.0, 5.5), (9, 6.0, 6.5))
    over_both = found_play((4, 3.2, 5.2))
    assert _apart([second, over_both, first]) == [first, second]
    assert _apart([over_both]) == [over_both]
    assert _apart([]) == []


def test_nothing_goes_on_backwards_or_from_part_to_part() -> None:
    before = found_play((6, 9.4, 9.9), (7, 10.0, 10.5))
    assert not _goes_on(before, found_play((8, 10.6, 11.1)), LESSON)  # a part ends, and one begins
    assert _goes_on(before, found_play((9, 11.2, 11.7)), LESSON)
    assert not _goes_on(before, found_play((7, 10.6, 11.1)), LESSON)
    assert not _goes_on(before, found_play((0, 10.6, 11.1)), LESSON)


def test_a_play_through_of_a_stretch_is_counted_as_the_lesson_counts_and_moved() -> None:
    play = replace(
        play_through([(0, 1.0, 1.5), (1, 2.0, 2.5)]), pauses=(Pause(1, 0.5),), restarts=(Restart(1.5, 2.0, 1, 0),)
    )
    found = FoundPlay(play, 0.5, 1.5, only_begun=True, harp_heard=LOW)
    counted = _counted_from(found, 8).play
    assert [one.event for one in counted.events] == [8, 9]
    assert (counted.pauses[0].before, counted.restarts[0].after, counted.restarts[0].back_to) == (9, 9, 8)
    assert not counted.whole
    moved = _moved(found, 10.0)
    assert (moved.right, moved.worth, moved.only_begun, moved.harp_heard) == (0.5, 1.5, True, LOW)
    assert _counted_from(found, 8).harp_heard == LOW
    assert (moved.play.start_seconds, moved.play.end_seconds) == (11.0, 12.5)
    assert [(one.start_seconds, one.end_seconds, one.due_seconds) for one in moved.play.events] == [
        (11.0, 11.5, 11.0),
        (12.0, 12.5, 12.0),
    ]
    assert (moved.play.restarts[0].dropped_seconds, moved.play.restarts[0].seconds) == (11.5, 12.0)


# -------------------------------------------------------------------------------------------------------- stretches


def test_a_pause_is_longer_than_the_longest_that_the_lesson_asks_for_when_slow() -> None:
    assert _longest_pause(LESSON) == pytest.approx(max(0.9, BEAT / 0.76 + 0.35))
    assert _longest_pause(replace(LESSON, ladder=())) == pytest.approx(0.95)


@pytest.mark.parametrize(
    ("tone", "talk", "found"),
    [
        ([(1.0, 2.0), (2.5, 3.0)], [], [(1.0, 3.0)]),
        ([(1.0, 2.0), (3.5, 4.0)], [], [(1.0, 2.0), (3.5, 4.0)]),
        ([(1.0, 2.0), (2.5, 3.0)], [(2.1, 2.45)], [(1.0, 2.0), (2.5, 3.0)]),
        ([(1.0, 2.0), (2.5, 3.0)], [(2.1, 2.3)], [(1.0, 3.0)]),  # a knock parts nothing
        ([(1.0, 1.2), (5.0, 6.0)], [], [(5.0, 6.0)]),  # too little to be worth answering
    ],
)
def test_what_is_played_is_parted_by_talk_and_by_long_pauses(tone, talk, found) -> None:
    assert _stretches(course(tone, talk), 1.0) == [pytest.approx(one) for one in found]


def test_a_stretch_is_heard_with_a_little_around_it_up_to_the_next_and_to_talk() -> None:
    heard = course([], [(4.8, 4.9), (9.0, 9.3)], seconds=20.0)
    assert _around([(5.0, 6.0), (6.4, 7.0), (8.0, 8.8)], heard) == [
        pytest.approx(one) for one in [(4.9, 6.2), (6.2, 7.5), (7.6, 9.0)]
    ]
    assert _around([(0.2, 19.8)], course([], [], seconds=20.0)) == [pytest.approx((0.0, 20.0))]


def test_stretches_with_talk_or_a_long_pause_between_are_sessions_of_their_own() -> None:
    stretches = [(5.0, 6.0), (8.0, 9.0), (12.0, 13.0), (19.0, 20.0)]
    sessions = _sessions(stretches, course([], [(10.0, 11.0)]))
    assert [len(one.stretches) for one in sessions] == [2, 1, 1]
    assert [(one.start, one.end) for one in sessions] == [
        pytest.approx(one) for one in [(4.6, 9.6), (11.6, 13.6), (18.6, 20.6)]
    ]
    # a knock between two parts them no more than it does elsewhere
    assert len(_sessions(stretches[:2], course([], [(7.0, 7.2)]))) == 1


@pytest.mark.parametrize("size", [7, 10, 100])
def test_the_sound_of_each_stretch_is_taken_of_blocks_that_are_gone_through_once(size: int) -> None:
    """Samples that count from 0, ten a second, in blocks of any size."""
    sound = np.arange(100, dtype=np.float32)[:, np.newaxis]
    blocks = iter([Samples(sound[at : at + size], 10) for at in range(0, 100, size)])
    spans = [(1.0, 2.5), (2.5, 4.0), (9.5, 12.0)]
    found = [(start, part.array[:, 0].tolist()) for start, part in _sounds_of(blocks, spans)]
    assert found == [
        (1.0, list(range(10, 25))),
        (2.5, list(range(25, 40))),
        (9.5, list(range(95, 100))),
    ]
