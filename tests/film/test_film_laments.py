"""Talk in raw footage: vowels that are held, and what is said after a try that is not known as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from reedpath.film import CutKind, CutOrder, CutWhy, Footage, FoundPlay, SingleNote, proposed_cut
from reedpath.film.footage import soundings_of
from reedpath.hear import HOP_SECONDS, SoundCourse
from reedpath.lesson import Lesson
from reedpath.listen import score_of
from support.pieces import porch
from support.play_throughs import play_through

SECONDS = 20.0


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return porch()


def course(
    talk: list[tuple[float, float]], tone: list[tuple[float, float]], voiced: Sequence[tuple[float, float]] = ()
) -> SoundCourse:
    """What sounds when, from spans of seconds."""

    def flags(spans: Sequence[tuple[float, float]]) -> np.ndarray:
        found = np.zeros(round(SECONDS / HOP_SECONDS), dtype=bool)
        for start, end in spans:
            found[round(start / HOP_SECONDS) : round(end / HOP_SECONDS)] = True
        return found

    level = np.where(flags(talk) | flags(tone), -20.0, -70.0).astype(np.float32)
    return SoundCourse(level, flags(talk), flags(tone), flags(voiced))


def footage(course: SoundCourse, *plays: FoundPlay) -> Footage:
    return Footage("raw.mp4", SECONDS, 25.0, plays, course, [(0.0, SECONDS)])


def kinds(heard: SoundCourse) -> list[tuple[CutKind, float, float]]:
    found = soundings_of(footage(heard), (0.0, SECONDS))
    return [(one.kind, round(one.start_seconds, 2), round(one.end_seconds, 2)) for one in found]


def test_a_vowel_that_is_held_in_talk_is_talk() -> None:
    heard = course([(1.0, 2.0), (2.7, 4.0)], [(2.0, 2.7)])
    assert kinds(heard) == [(CutKind.TALK, 1.0, 4.0)]
    assert kinds(course([(1.0, 2.0)], [(2.0, 2.5)])) == [(CutKind.TALK, 1.0, 2.5)]


def test_a_word_by_itself_is_talk_where_a_voice_is_heard_in_it() -> None:
    said = [(5.0, 5.3)]
    assert kinds(course(said, [], [(5.1, 5.2)])) == [(CutKind.TALK, 5.0, 5.3)]
    assert kinds(course(said, [], [(5.1, 5.18)])) == [(CutKind.NEITHER, 5.0, 5.3)]
    assert kinds(course([(5.0, 5.36)], [])) == [(CutKind.TALK, 5.0, 5.36)]


def test_words_on_one_pitch_are_talk_where_a_voice_is_heard_in_them() -> None:
    talk, tone = [(2.4, 4.0)], [(1.0, 2.2)]
    assert kinds(course(talk, tone, [(1.3, 1.8)])) == [(CutKind.TALK, 1.0, 4.0)]
    assert kinds(course(talk, tone, [(1.3, 1.7)]))[0] == (CutKind.NEITHER, 1.0, 2.2)
    assert kinds(course([(3.0, 4.0)], tone, [(1.0, 2.2)]))[0] == (CutKind.NEITHER, 1.0, 2.2)


def test_what_is_played_after_a_pause_or_for_long_is_no_vowel() -> None:
    assert kinds(course([(1.0, 2.0), (3.2, 4.0)], [(2.3, 2.9)]))[1][0] is CutKind.NEITHER
    assert kinds(course([(1.0, 2.0)], [(2.0, 4.5)]))[1] == (CutKind.NEITHER, 2.0, 4.5)
    assert kinds(course([(1.0, 2.0), (6.0, 7.0)], [(2.0, 6.0)]))[1] == (CutKind.NEITHER, 2.0, 6.0)


@pytest.mark.parametrize(
    ("tried", "said", "why"),
    [
        ((1.0, 6.0), (7.0, 7.6), CutWhy.BETWEEN),  # as long as the next try: she laments it
        ((1.0, 2.5), (7.0, 7.6), CutWhy.TALK),  # some notes to warm up
        ((1.0, 6.0), (7.0, 9.5), CutWhy.TALK),  # more than a lament
    ],
)
def test_a_few_words_after_a_try_that_is_not_known_go(
    lesson: Lesson, tried: tuple[float, float], said: tuple[float, float], why: CutWhy
) -> None:
    events = [(index, 11.0 + index * 0.6, 11.5 + index * 0.6) for index in range(8)]
    play = FoundPlay(play_through(events, factor=1.0), 1.0, 8.0)
    heard = course([said], [tried, (11.0, 15.7)])
    cut = proposed_cut([footage(heard, play)], lesson, order=CutOrder.TAUGHT)
    (talk,) = [piece for piece in cut.pieces if piece.kind is CutKind.TALK]
    assert (talk.why, talk.keep) == (why, why is CutWhy.TALK)
    assert [piece.keep for piece in cut.pieces if piece.kind is CutKind.PLAY] == [True]


# from when to when a note is played, and what is said before it and after it
@pytest.mark.parametrize(
    ("intro", "note", "said", "why"),
    [
        ([(1.0, 4.0)], (5.0, 5.7), (7.0, 7.6), CutWhy.BETWEEN),  # one note, and "No."
        ([(1.0, 4.0)], (5.0, 6.4), (7.0, 7.9), CutWhy.BETWEEN),  # two, of which one is wrong
        ([(1.0, 4.0)], (5.0, 5.2), (7.0, 7.6), CutWhy.TALK),  # a knock
        ([(1.0, 4.0)], (5.0, 5.7), (7.0, 8.3), CutWhy.TALK),  # more than a word or two
        ([], (5.0, 5.7), (7.0, 7.6), CutWhy.TALK),  # the first words of all, after a note to try the harp
    ],
)
def test_a_word_after_a_note_or_two_goes_where_the_part_is_played_next(
    lesson: Lesson,
    intro: list[tuple[float, float]],
    note: tuple[float, float],
    said: tuple[float, float],
    why: CutWhy,
) -> None:
    """A try that was broken off at once; a single note, right or wrong, cannot be known as its beginning."""
    events = [(index, 11.0 + index * 0.6, 11.5 + index * 0.6) for index in range(8)]
    play = FoundPlay(play_through(events, factor=1.0), 1.0, 8.0)
    cut = proposed_cut([footage(course([*intro, said], [note, (11.0, 15.7)]), play)], lesson, order=CutOrder.TAUGHT)
    *before, talk = [piece for piece in cut.pieces if piece.kind is CutKind.TALK]
    assert (talk.why, talk.keep) == (why, why is CutWhy.TALK)
    assert all(piece.keep for piece in before)
    played = [piece.keep for piece in cut.pieces if piece.kind is CutKind.NEITHER]
    assert played == [said == (7.0, 8.3)]  # so many words speak of what was shown


@pytest.mark.parametrize(
    ("hole", "said", "why"),
    [
        ("first", 1.9, CutWhy.BETWEEN),
        ("first", 2.1, CutWhy.TALK),  # so many words speak of what was shown
        ("second", 1.9, CutWhy.TALK),  # a note that does not begin what is played
    ],
)
def test_words_after_the_first_note_of_what_is_played_next_go(
    lesson: Lesson, hole: str, said: float, why: CutWhy
) -> None:
    events = [(index, 11.0 + index * 0.6, 11.5 + index * 0.6) for index in range(8)]
    play = FoundPlay(play_through(events, factor=1.0), 1.0, 8.0)
    heard = course([(1.0, 4.0), (7.0, 7.0 + said)], [(5.0, 5.7), (11.0, 15.7)])
    asked = score_of(lesson.route).events[("first", "second").index(hole)]
    film = replace(footage(heard, play), single_notes=[SingleNote(5.02, round(asked.midi[0]))])
    cut = proposed_cut([film], lesson, order=CutOrder.TAUGHT)
    *_, talk = [piece for piece in cut.pieces if piece.kind is CutKind.TALK]
    assert (talk.why, talk.keep) == (why, why is CutWhy.TALK)


def test_the_stretches_of_a_film_follow_each_other_from_its_start_to_its_end(lesson: Lesson) -> None:
    events = [(index, 11.0 + index * 0.6, 11.52 + index * 0.6) for index in range(8)]
    heard = course([(2.1, 4.1)], [(6.1, 9.1), (11.0, 15.72)])
    cut = proposed_cut(
        [footage(heard, FoundPlay(play_through(events, factor=1.0), 1.0, 8.0))], lesson, order=CutOrder.FILMED
    )
    told = [(one.kind, one.start_seconds, one.end_seconds, one.why, one.keep) for one in cut.pieces]
    # 0.3 s stay around talk, 0.1 s around what is neither, 0.6 s before and 0.8 s after what is played
    assert told == [
        (CutKind.SILENCE, 0.0, 1.8, CutWhy.SILENCE, False),
        (CutKind.TALK, 1.8, 4.4, CutWhy.TALK, True),
        (CutKind.SILENCE, 4.4, 6.0, CutWhy.SILENCE, False),
        (CutKind.NEITHER, 6.0, 9.2, CutWhy.NEITHER, False),
        (CutKind.SILENCE, 9.2, 10.4, CutWhy.SILENCE, False),
        (CutKind.PLAY, 10.4, 16.52, CutWhy.ONLY, True),
        (CutKind.SILENCE, 16.52, SECONDS, CutWhy.SILENCE, False),
    ]


def test_a_film_in_which_nothing_sounds_is_one_stretch_of_silence(lesson: Lesson) -> None:
    (one,) = proposed_cut([footage(course([], []))], lesson, order=CutOrder.FILMED).pieces
    assert (one.kind, one.start_seconds, one.end_seconds, one.keep) == (CutKind.SILENCE, 0.0, SECONDS, False)
