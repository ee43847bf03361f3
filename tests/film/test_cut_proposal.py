"""What is proposed to stay of raw footage, by rules that need no film: what is played again, talk, order, cameras."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from msgspec import structs

from reedpath.film import CutKind, CutOrder, CutPiece, CutWhy, FilmClock, FilmCut, Footage, FoundPlay, proposed_cut
from reedpath.film.footage import soundings_of
from reedpath.hear import HOP_SECONDS, SoundCourse
from reedpath.lesson import LessonPart
from reedpath.listen import HarpHeard
from support.kept_texts import assert_kept
from support.pieces import porch
from support.play_throughs import play_through
from support.told_values import told_value

# parts A, events 0 to 7, and B, 8 to 14, at 0.76, 0.88 and all of the full tempo
LESSON = porch()
EVENT_SECONDS = 0.6
TALK, SOUND, QUIET = "talk", "sound", "quiet"


@dataclass(frozen=True)
class Play:
    """Events that are played, at a share of the full tempo, and how much of it is right."""

    first: int
    last: int
    factor: float = 1.0
    right: float = 1.0
    only_begun: bool = False
    harp: HarpHeard | None = None

    @property
    def seconds(self) -> float:
        return (self.last - self.first + 1) * EVENT_SECONDS / self.factor


def filmed(*script: Play | tuple[str, float], name: str = "raw.mp4", has_pictures: bool = True) -> Footage:
    """A film of what is played, talked and sounded one after the other, a second of silence after each."""
    at, plays, spans = 1.0, [], {TALK: [], SOUND: [], QUIET: []}
    for one in script:
        seconds = one.seconds if isinstance(one, Play) else one[1]
        if isinstance(one, Play):
            step = EVENT_SECONDS / one.factor
            count = one.last - one.first + 1
            events = [(one.first + place, at + place * step, at + (place + 1) * step) for place in range(count)]
            found = play_through(events, factor=one.factor)
            plays.append(FoundPlay(found, one.right, one.right * count, one.only_begun, one.harp))
            spans[SOUND].append((at, at + seconds))
        else:
            spans[one[0]].append((at, at + seconds))
        at += seconds + 1.0
    flags = {}
    for kind, stretches in spans.items():
        flags[kind] = np.zeros(round(at / HOP_SECONDS), dtype=bool)
        for start, end in stretches:
            flags[kind][round(start / HOP_SECONDS) : round(end / HOP_SECONDS)] = True
    level = np.where(flags[TALK] | flags[SOUND], -20.0, -70.0).astype(np.float32)
    return Footage(
        name,
        at,
        25.0,
        plays,
        SoundCourse(level, flags[TALK], flags[SOUND], np.zeros_like(flags[TALK])),
        [(0.0, at)],
        has_pictures,
    )


def told(cut: FilmCut, *kinds: CutKind) -> list[str]:
    """Why each stretch of some kinds stays, in capitals, or goes."""
    asked = kinds or (CutKind.PLAY, CutKind.TALK)
    return [one.why.value.upper() if one.keep else one.why.value for one in cut.pieces if one.kind in asked]


def as_filmed(*script: Play | tuple[str, float], lesson=LESSON) -> list[str]:
    return told(proposed_cut([filmed(*script)], lesson))


def as_taught(*script: Play | tuple[str, float], lesson=LESSON) -> list[CutPiece]:
    return [one for one in proposed_cut([filmed(*script)], lesson, order=CutOrder.TAUGHT).pieces if one.keep]


def played(pieces: Sequence[CutPiece]) -> list[tuple[str, str]]:
    return [(one.part, one.tempo) for one in pieces if one.kind is CutKind.PLAY]


ONLY, BEST, ANOTHER, FALSE = "ONLY", "BEST", CutWhy.ANOTHER.value, CutWhy.FALSE_START.value
BETWEEN = CutWhy.BETWEEN.value
A, B, WHOLE = Play(0, 7), Play(8, 14), Play(0, 14)


def wrong(play: Play, right: float = 0.7) -> Play:
    return Play(play.first, play.last, play.factor, right)


def at_tempo(play: Play, factor: float) -> Play:
    return Play(play.first, play.last, factor, play.right)


SLOW_A = at_tempo(A, 0.76)


def test_of_talk_over_the_ends_of_what_is_played_there_is_what_lies_outside() -> None:
    film = filmed(A, (QUIET, 3.0))
    (first,) = film.plays
    start, end = first.play.start_seconds, first.play.end_seconds
    for begins, ends in ((start - 0.9, start + 0.4), (end - 0.4, end + 1.1), (start + 1.0, start + 2.0)):
        film.course.talk[round(begins / HOP_SECONDS) : round(ends / HOP_SECONDS)] = True
    found = [
        (one.kind, round(one.start_seconds, 1), round(one.end_seconds, 1))
        for one in soundings_of(film, (0.0, film.seconds))
    ]
    assert found == [
        (CutKind.TALK, round(start - 0.9, 1), round(start, 1)),
        (CutKind.PLAY, round(start, 1), round(end, 1)),
        (CutKind.TALK, round(end, 1), round(end + 1.1, 1)),
    ]


# ------------------------------------------------------------------------------------------------- what is the same


@pytest.mark.parametrize(
    ("tries", "why"),
    [
        ([A], [ONLY]),
        ([wrong(A), A, B], [ANOTHER, BEST, ONLY]),
        ([A, wrong(A)], [BEST, ANOTHER]),
        ([A, A, A], [ANOTHER, ANOTHER, BEST]),  # of what is alike the last
        ([A, at_tempo(A, 1.09)], [ANOTHER, BEST]),  # a tempo is hit again within a tenth
        ([A, at_tempo(A, 1.12)], [ONLY, ONLY]),
        ([at_tempo(A, 1.12), A], [ONLY, ONLY]),
        ([A, Play(1, 7)], [BEST, ANOTHER]),  # four fifths of the longer one are the same
        ([Play(2, 7), A], [ONLY, ONLY]),
        ([A, B, A], [ONLY, ONLY, ONLY]),  # as filmed what lies between parts them
        ([Play(0, 4), A], [FALSE, BEST]),  # broken off
        ([A, Play(0, 4)], [BEST, FALSE]),
        ([A, WHOLE], [ONLY, ONLY]),  # not broken off: a part ends there
        ([Play(0, 2, only_begun=True), B], [FALSE, ONLY]),
    ],
)
def test_of_what_is_played_again_one_after_the_other_the_best_stays(tries: list[Play], why: list[str]) -> None:
    assert as_filmed(*tries) == why


def test_a_try_of_part_of_what_follows_at_another_place_is_none_of_it() -> None:
    assert as_filmed(Play(3, 6), A) == [ONLY, ONLY]


def test_what_is_played_is_told_by_part_tempo_and_how_much_is_right() -> None:
    cut = proposed_cut([filmed(at_tempo(A, 0.76), wrong(at_tempo(WHOLE, 0.88), 0.66666), at_tempo(B, 0.5))], LESSON)
    pieces = [one for one in cut.pieces if one.kind is CutKind.PLAY]
    assert [(one.first, one.last, one.part, one.tempo, one.right, one.tempo_factor) for one in pieces] == [
        (0, 7, "A", "slow", 1.0, 0.76),
        (0, 14, "A B", "faster", 0.6667, 0.88),
        (8, 14, "B", "", 1.0, 0.5),  # no tempo of the lesson is near
    ]


def test_two_films_that_follow_each_other_are_gone_through_one_after_the_other() -> None:
    cut = proposed_cut([filmed(wrong(A), name="1.mp4"), filmed((TALK, 1.0), A, name="2.mp4")], LESSON)
    assert told(cut) == [ANOTHER, BETWEEN, BEST]
    assert cut.films == ("1.mp4", "2.mp4")
    assert [one.film for one in cut.pieces] == sorted(one.film for one in cut.pieces)


# --------------------------------------------------------------------------------------------------- talk and noise


@pytest.mark.parametrize(
    ("script", "why"),
    [
        ([(TALK, 2.0), A, (TALK, 2.0)], ["TALK", ONLY, "TALK"]),
        ([A, (TALK, 2.0), B], [ONLY, "TALK", ONLY]),
        ([wrong(A), (TALK, 4.0), A], [ANOTHER, BETWEEN, BEST]),
        # after what was only begun long talk introduces what follows, short talk laments it
        ([Play(0, 4), (TALK, 4.0), A], [FALSE, "TALK", BEST]),
        ([Play(0, 4), (TALK, 1.0), A], [FALSE, BETWEEN, BEST]),
        # but not once it was played whole
        ([A, Play(0, 4), (TALK, 4.0), A], [ANOTHER, FALSE, BETWEEN, BEST]),
    ],
)
def test_talk_stays_but_between_tries_of_the_same(script: list[Play | tuple[str, float]], why: list[str]) -> None:
    assert as_filmed(*script) == why


def test_what_is_neither_goes() -> None:
    cut = proposed_cut([filmed((SOUND, 3.0), A)], LESSON)
    assert told(cut, CutKind.NEITHER) == [CutWhy.NEITHER.value]
    assert set(told(cut, CutKind.SILENCE)) == {CutWhy.SILENCE.value}


# ------------------------------------------------------------------------------------------------------- as taught


def test_what_stays_goes_part_by_part_from_slow_to_full_and_then_joined() -> None:
    filmed_in_disorder = [WHOLE, B, A, at_tempo(A, 0.76), at_tempo(B, 0.88), at_tempo(WHOLE, 0.76)]
    assert played(as_taught(*filmed_in_disorder)) == [
        *[("A", "slow"), ("A", "full"), ("B", "faster"), ("B", "full"), ("A B", "slow"), ("A B", "full")],
    ]


def test_of_the_same_wherever_it_was_filmed_the_best_stays() -> None:
    kept = as_taught(wrong(A), B, A, wrong(B))
    assert [(one.part, one.why, one.right) for one in kept] == [("A", CutWhy.BEST, 1.0), ("B", CutWhy.BEST, 1.0)]


def test_what_she_says_goes_with_what_follows_it_but_at_the_start_and_at_the_end() -> None:
    kept = as_taught((TALK, 1.0), B, (TALK, 2.0), A, (TALK, 3.0))
    assert [one.part or one.kind.value for one in kept] == ["talk", "talk", "A", "B", "talk"]
    first, of_a, _, _, last = kept
    assert first.start_seconds < of_a.start_seconds < last.start_seconds


def test_what_goes_stands_after_what_it_follows_in_its_film() -> None:
    cut = proposed_cut([filmed(B, wrong(A), (TALK, 1.0), A)], LESSON, order=CutOrder.TAUGHT)
    rows = [one.part or one.kind.value for one in cut.pieces if one.kind is not CutKind.SILENCE]
    assert rows == ["A", "B", "A", "talk"]
    assert [one.keep for one in cut.pieces if one.kind is not CutKind.SILENCE] == [True, True, False, False]
    # every moment of the film is there once
    spans = sorted((one.start_seconds, one.end_seconds) for one in cut.pieces)
    assert [start for start, _ in spans] == [0.0, *(end for _, end in spans[:-1])]


@pytest.mark.parametrize(
    ("tries", "kept"),
    [
        # begun, at any tempo: a try of the next that is whole and at a tempo of the lesson
        ([Play(0, 4, 0.8), at_tempo(A, 0.76)], [("A", "slow")]),
        # no tempo of the lesson and much wrong in it: the same
        ([wrong(at_tempo(A, 0.55), 0.5), at_tempo(A, 0.76)], [("A", "slow")]),
        # all right at a tempo of its own: meant so
        ([at_tempo(A, 0.55), at_tempo(A, 0.76)], [("A", ""), ("A", "slow")]),
        # late notes make a stretch slower: a better one beside it that is about as fast is the same
        ([wrong(at_tempo(A, 0.9)), A], [("A", "full")]),
        ([at_tempo(A, 0.9), A], [("A", "faster"), ("A", "full")]),
        ([wrong(at_tempo(A, 0.88)), A], [("A", "faster"), ("A", "full")]),
        ([wrong(at_tempo(A, 0.9)), wrong(A)], [("A", "faster"), ("A", "full")]),
        # nothing comes after it that it may have been meant to be
        ([at_tempo(A, 0.76), Play(0, 4)], [("A", "slow"), ("A", "full")]),
        ([Play(0, 4, 0.5)], [("A", "")]),
    ],
)
def test_what_a_faulty_try_was_meant_to_be(tries: list[Play], kept: list[tuple[str, str]]) -> None:
    assert played(as_taught(*tries)) == kept


@pytest.mark.parametrize(
    ("script", "stays"),
    [
        ([SLOW_A, B, A, WHOLE], False),  # broken off where the part ends, and begun anew
        ([SLOW_A, B, A, (TALK, 0.9), WHOLE], False),  # lamented
        ([SLOW_A, B, A, (TALK, 0.9), A, (TALK, 0.9), WHOLE], False),  # twice
        ([SLOW_A, B, A, (TALK, 1.5), WHOLE], True),  # introduced
        ([A, WHOLE], True),  # it is nowhere else
        ([SLOW_A, A, at_tempo(WHOLE, 0.76)], True),  # at another tempo
        ([SLOW_A, A, B, WHOLE], True),
    ],
)
def test_a_part_that_the_whole_was_begun_with_does_not_stay_by_itself(script: list, stays: bool) -> None:
    assert (("A", "full") in played(as_taught(*script))) is stays
    pieces = proposed_cut([filmed(*script)], LESSON, order=CutOrder.TAUGHT).pieces
    short = [one.keep for one in pieces if one.kind is CutKind.TALK and one.seconds < 1.6]
    assert not any(short)


def test_what_the_whole_was_begun_with_is_no_better_take_of_a_part_that_was_done() -> None:
    """Done at this tempo before another part was; what is said between is more than a word, and laments still."""
    script = [A, (TALK, 3.0), B, (TALK, 3.0), A, (TALK, 1.4), A, (TALK, 1.4), WHOLE]
    kept = as_taught(*script)
    assert played(kept) == [("A", "full"), ("B", "full"), ("A B", "full")]
    assert next(one for one in kept if one.part == "A").start_seconds < 2.0
    assert len([one for one in kept if one.kind is CutKind.TALK]) == 2
    # more than that introduces
    script[5] = script[7] = (TALK, 1.8)
    kept = as_taught(*script)
    assert next(one for one in kept if one.part == "A").start_seconds > 10.0


SHOWN = CutWhy.SHOWN.value.upper()


@pytest.mark.parametrize(
    ("script", "why"),
    [
        # a bend by itself between what is said of it
        ([(TALK, 3.0), (SOUND, 1.0), (TALK, 3.0), A], ["TALK", SHOWN, "TALK", ONLY]),
        (
            [(TALK, 3.0), (SOUND, 1.0), (TALK, 3.0), (SOUND, 0.8), (TALK, 1.2), A],
            ["TALK", SHOWN] * 2 + ["TALK", ONLY],
        ),
        # a word after it laments, rather than speaks of what was shown
        ([(TALK, 3.0), (SOUND, 1.0), (TALK, 0.9), A], ["TALK", "neither", BETWEEN, ONLY]),
        # a knock, something tried out, a pause too long
        ([(TALK, 3.0), (SOUND, 0.2), (TALK, 3.0), A], ["TALK", "neither", "TALK", ONLY]),
        ([(TALK, 3.0), (SOUND, 1.4), (TALK, 3.0), A], ["TALK", "neither", "TALK", ONLY]),
        ([(TALK, 3.0), (QUIET, 2.0), (SOUND, 1.0), (TALK, 3.0), A], ["TALK", "neither", "TALK", ONLY]),
        # before what is played, and between tries
        ([(TALK, 3.0), (SOUND, 1.0), A], ["TALK", "neither", ONLY]),
        ([wrong(A), (SOUND, 1.0), (TALK, 1.0), A], [ANOTHER, "neither", BETWEEN, BEST]),
    ],
)
def test_what_she_shows_while_she_talks_stays_with_the_pauses_around_it(script: list, why: list[str]) -> None:
    cut = proposed_cut([filmed(*script)], LESSON, order=CutOrder.TAUGHT)
    in_time = sorted(cut.pieces, key=lambda one: one.start_seconds)
    named = [one for one in in_time if one.kind is not CutKind.SILENCE]
    assert [one.why.value.upper() if one.keep else one.why.value for one in named] == why
    # talk, what is shown and talk are seen in one go
    assert len([one for one in cut.kept if one.kind is not CutKind.PLAY]) == sum(
        each == "TALK" for each in why
    ) - why.count(SHOWN)


def test_what_is_played_on_another_harp_stays_only_where_nothing_else_is_and_is_told() -> None:
    other = HarpHeard("A", -3, 0, 0, 0.9, 0.1)
    tries = [Play(0, 7, right=0.6), Play(0, 7, harp=other), Play(8, 14, harp=other)]
    pieces = as_taught(*tries)
    assert [(one.keep, one.harp) for one in pieces] == [(True, ""), (True, "A")]


def test_a_part_that_is_the_same_as_an_earlier_one_is_taught_once() -> None:
    parts = (LessonPart("A", 0, 4, None), LessonPart("B", 5, 9, None), LessonPart("C", 10, 14, 0))
    lesson = structs.replace(LESSON, parts=parts)
    kept = as_taught(Play(10, 14, right=0.8), Play(5, 9), Play(0, 4), lesson=lesson)
    assert [one.part for one in kept] == ["A", "B"]
    assert [one.part for one in as_taught(Play(0, 14), Play(10, 14), lesson=lesson)] == ["A", "A B C"]


def test_a_part_may_lack_two_events_at_either_end_to_be_played_whole() -> None:
    """Of what is begun and what is whole, what is whole stays, though less of it may be right."""
    kept = as_taught(Play(0, 4), Play(0, 5, right=0.8), Play(0, 7, right=0.5))
    assert [(one.first, one.last) for one in kept] == [(0, 7)]
    kept = as_taught(Play(1, 7), Play(0, 7, right=0.5))
    assert [(one.first, one.last) for one in kept] == [(1, 7)]


# --------------------------------------------------------------------------------------------------------- cameras


def seen(cut: FilmCut) -> list[tuple[str, int, int | None]]:
    return [(one.kind.value, one.film, one.seen) for one in cut.pieces if one.kind is not CutKind.SILENCE]


def beside(one: Footage, name: str, *, seconds: float | None = None, has_pictures: bool = True) -> Footage:
    """Another film of the same, of which nothing is heard."""
    silent = filmed((QUIET, one.seconds - 2.0), name=name, has_pictures=has_pictures)
    return Footage(
        name, seconds or one.seconds, 25.0, (), silent.course, (), has_pictures=has_pictures
    )  # fmt: skip


def test_talk_is_seen_by_the_first_camera_and_what_is_played_by_the_last_that_has_it_whole() -> None:
    heard = filmed((TALK, 2.0), A)
    together = (FilmClock(1, 0, 0.0), FilmClock(2, 0, 0.0), FilmClock(3, 0, 0.0))
    sounds = [beside(heard, name, has_pictures=False) for name in ("b.wav", "d.wav")]
    cut = proposed_cut([heard, sounds[0], beside(heard, "c.mp4"), sounds[1]], LESSON, clocks=together)
    assert seen(cut) == [("talk", 0, None), ("play", 0, 2)]
    assert cut.clocks == together
    # the sound of the second is heard
    films = [beside(heard, "a.mp4"), filmed((TALK, 2.0), A, name="b.mp4")]
    assert seen(proposed_cut(films, LESSON, clocks=(FilmClock(1, 0, 0.0),))) == [("talk", 1, 0), ("play", 1, None)]
    # a camera that began later, or ended sooner, has not all of it
    later = [heard, beside(heard, "b.mp4")]
    assert seen(proposed_cut(later, LESSON, clocks=(FilmClock(1, 0, 5.0),))) == [("talk", 0, None), ("play", 0, None)]
    shorter = [heard, beside(heard, "b.mp4", seconds=heard.seconds - 2.0)]
    assert seen(proposed_cut(shorter, LESSON, clocks=(FilmClock(1, 0, 0.0),)))[1] == ("play", 0, None)
    # without clocks they follow each other
    assert seen(proposed_cut([heard, beside(heard, "b.mp4")], LESSON)) == [("talk", 0, None), ("play", 0, None)]


def test_what_was_taken_together_is_sorted_by_one_clock() -> None:
    films = [filmed((QUIET, 20.0), A), filmed(wrong(A), B, name="b.mp4")]

    def whys(*clocks: FilmClock) -> dict[tuple[int, int | None], str]:
        cut = proposed_cut(films, LESSON, clocks=clocks)
        return {(one.film, one.first): one.why.value for one in cut.pieces if one.kind is CutKind.PLAY}

    assert whys() == {(0, 0): "best", (1, 0): "another", (1, 8): "only"}
    # the second camera ran first: something else was played between the two
    assert whys(FilmClock(1, 0, 2.0)) == {(0, 0): "only", (1, 0): "only", (1, 8): "only"}
    assert whys(FilmClock(1, 0, 23.0)) == whys()


def test_what_is_proposed_of_many_scripts_stretch_by_stretch() -> None:
    """Each is compared whole with what was kept of it; see `support.kept_texts`."""
    lament = (TALK, 1.2)
    scripts: dict[str, list[Play | tuple[str, float]]] = {
        "one of each": [(TALK, 4.0), A, (TALK, 2.0), B, (QUIET, 5.0)],
        "again and again": [wrong(A), (TALK, 1.0), wrong(A, 0.9), A, wrong(A), B, at_tempo(B, 0.88)],
        "begun and broken off": [Play(0, 2, only_begun=True), lament, A, Play(8, 9, only_begun=True), B],
        "slow and fast": [SLOW_A, at_tempo(A, 0.88), A, at_tempo(WHOLE, 0.5), WHOLE],
        "noises": [(SOUND, 3.0), A, (SOUND, 0.3), (TALK, 0.3), B, (SOUND, 8.0)],
        "the whole only": [(TALK, 30.0), wrong(WHOLE), (QUIET, 20.0), WHOLE, (TALK, 2.0)],
        "talk alone": [(TALK, 5.0), (QUIET, 9.0), (TALK, 5.0)],
        "nothing": [(QUIET, 9.0)],
    }
    told = []
    for name, script in scripts.items():
        for order in CutOrder:
            told.append(f"# {name}, {order}")
            told += [told_value(one) for one in proposed_cut([filmed(*script)], LESSON, order=order).pieces]
    films = [filmed((TALK, 2.0), A, B, name="a.mp4"), filmed((QUIET, 1.0), wrong(A), (TALK, 2.0), B, name="b.mp4")]
    clocks = (FilmClock(1, 0, 0.5, 1.00002),)
    for given in ((), clocks):
        told.append(f"# two films {given}")
        cut = proposed_cut(films, LESSON, order=CutOrder.TAUGHT, clocks=given)
        told += [told_value(one) for one in cut.pieces]
        told.append(f"{cut.gains_db} {cut.seconds:.3f} {cut.filmed_seconds:.3f}")
    for film in films:
        for span in ((0.0, film.seconds), (3.0, 9.0)):
            told += [told_value(one) for one in soundings_of(film, span)]
    assert_kept(Path(__file__).parent / "kept" / "cuts.txt", "\n".join(told) + "\n")
