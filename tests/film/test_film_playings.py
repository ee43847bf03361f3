"""Play-throughs of the teacher's film: what they may be, their tempo, and the scenes they make."""

from __future__ import annotations

from itertools import pairwise

import pytest

from reedpath.errors import FilmError
from reedpath.film import Heard, Playing, SceneKind, lay_out_takes
from reedpath.film.playings import nearest_rung, playing_bpm
from reedpath.lesson import make_lesson
from reedpath.phrase import timing_of
from support.built_routes import built_route

LESSON = make_lesson(built_route("2d 3d' 4b:1 r:1/2 4d 5d 6b:1 5d 4d 3d 2d:2 " * 2, bpm=100.0))
COUNT = len(LESSON.route.events)


def played(*, start: float = 5.0, speed: float = 1.0, events: range | None = None, drift: float = 0.0) -> Playing:
    """A play-through at that speed, which slows down by the drift."""
    timing = timing_of(LESSON.route.phrase)
    heard = []
    for index in events or range(COUNT):
        one = LESSON.route.events[index].event
        begin, end = (timing.seconds_at(beats) / speed for beats in (one.onset, one.end))
        heard.append(Heard(index, start + begin + drift * begin**2, start + end * 0.98 + drift * end**2))
    return Playing(tuple(heard))


def test_tempo_of_a_playing() -> None:
    assert playing_bpm(LESSON.route.phrase, played(speed=0.62)) == pytest.approx(62.0)
    assert playing_bpm(LESSON.route.phrase, played(speed=0.9, events=range(3, 9))) == pytest.approx(90.0)


def test_a_stumble_hardly_changes_the_tempo() -> None:
    heard = list(played(speed=0.8).heard)
    late = [Heard(one.event, one.start_seconds + 1.5, one.end_seconds + 1.5) for one in heard[-3:]]
    assert playing_bpm(LESSON.route.phrase, Playing((*heard[:-3], *late))) == pytest.approx(80.0, rel=0.02)


def test_one_note_has_the_lessons_tempo() -> None:
    assert playing_bpm(LESSON.route.phrase, played(events=range(4, 5))) == pytest.approx(100.0)


def test_nearest_rung() -> None:
    for rung in LESSON.ladder:
        assert nearest_rung(LESSON, played(speed=rung.factor * 1.02)) == rung
    assert nearest_rung(LESSON, played(speed=1.4)) is None


def test_scenes_of_takes() -> None:
    timeline = lay_out_takes(LESSON, [played(start=40.0), played(start=5.0, speed=0.51)], film_seconds=70.0)
    assert [scene.kind for scene in timeline.scenes] == [SceneKind.TAKE] * 2
    slow, full = timeline.scenes
    assert slow.start_seconds == pytest.approx(3.0)
    assert slow.soundings[0].start_seconds == pytest.approx(5.0)
    assert full.soundings[0].start_seconds == pytest.approx(40.0)
    assert slow.rung == LESSON.ladder[0]
    assert full.rung == LESSON.ladder[-1]
    assert slow.layout is None
    assert timeline.seconds == 70.0
    for scene in timeline.scenes:
        for one in scene.soundings:
            onset = float(LESSON.route.events[one.event].event.onset)
            assert scene.glide.at(one.start_seconds) == pytest.approx(scene.course.at(onset), abs=1e-6)
        assert scene.headings[0].start_seconds == scene.start_seconds
        assert scene.headings[-1].end_seconds == scene.end_seconds


def test_missed_notes_are_not_lit_and_the_ribbon_goes_on() -> None:
    heard = played(drift=0.01).heard
    timeline = lay_out_takes(LESSON, [Playing((*heard[:4], *heard[7:]))], film_seconds=60.0)
    scene = timeline.scenes[0]
    assert [one.event for one in scene.soundings] == [*range(4), *range(7, COUNT)]
    places = [scene.course.at(float(one.event.onset)) for one in LESSON.route.events]
    assert all(before < after for before, after in pairwise(places))
    for one in scene.soundings:
        assert places[one.event] == pytest.approx(one.start_seconds)


def test_a_part_whose_first_note_was_missed_still_has_its_heading() -> None:
    first = LESSON.parts[1].first
    heard = tuple(one for one in played().heard if one.event != first)
    scene = lay_out_takes(LESSON, [Playing(heard)], film_seconds=60.0).scenes[0]
    assert [heading.part for heading in scene.headings] == list(range(len(LESSON.parts)))


def test_short_gaps_are_shared() -> None:
    one = played(start=2.0)
    end = max(heard.end_seconds for heard in one.heard)
    timeline = lay_out_takes(LESSON, [one, played(start=end + 1.0)], film_seconds=60.0)
    first, second = timeline.scenes
    assert first.end_seconds <= second.start_seconds
    assert second.start_seconds <= second.soundings[0].start_seconds


@pytest.mark.parametrize(
    ("heard", "why"),
    [
        ((), "no notes at all"),
        ((Heard(1, 1.0, 2.0), Heard(0, 2.0, 3.0)), "goes on in time"),
        ((Heard(0, 2.0, 3.0), Heard(1, 1.0, 3.0)), "goes on in time"),
        ((Heard(0, 2.0, 2.0),), "then lasts"),
        ((Heard(0, -1.0, 2.0),), "at 0 s or later"),
    ],
)
def test_what_is_no_playing(heard: tuple[Heard, ...], why: str) -> None:
    with pytest.raises(FilmError, match=why):
        Playing(heard)


def test_playings_that_do_not_fit_the_film() -> None:
    with pytest.raises(FilmError, match="in a film of 10 s"):
        lay_out_takes(LESSON, [played()], film_seconds=10.0)
    with pytest.raises(FilmError, match="two play-throughs at once"):
        lay_out_takes(LESSON, [played(), played(start=6.0)], film_seconds=90.0)
    with pytest.raises(FilmError, match=f"the lesson has {COUNT}"):
        lay_out_takes(LESSON, [Playing((Heard(COUNT, 1.0, 2.0),))], film_seconds=90.0)
