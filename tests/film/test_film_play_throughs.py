"""Play-throughs of the teacher's film: what they may be, their tempo, and the scenes they make."""

from __future__ import annotations

from itertools import pairwise

import pytest

from reedpath.errors import FilmError
from reedpath.film import SceneKind, Timeline, lay_out_film, lay_out_takes
from reedpath.film.cut_plays import ToldPlay
from reedpath.film.strips import StripLook, ribbon_strip
from reedpath.lesson import make_lesson
from reedpath.listen import PlayThrough
from reedpath.page import Label, flattened, load_palette, parts_in_beats
from reedpath.phrase import timing_of
from support.built_routes import built_route
from support.play_throughs import play_through

LESSON = make_lesson(built_route("2d 3d' 4b:1 r:1/2 4d 5d 6b:1 5d 4d 3d 2d:2 " * 2, bpm=100.0))
COUNT = len(LESSON.route.events)


def heard(
    *, start: float = 5.0, speed: float = 1.0, events: range | None = None, drift: float = 0.0
) -> list[tuple[int, float, float]]:
    """Events with their start and end, at that speed, which slows down by the drift."""
    timing = timing_of(LESSON.route.phrase)
    found = []
    for index in events or range(COUNT):
        one = LESSON.route.events[index].event
        begin, end = (timing.seconds_at(beats) / speed for beats in (one.onset, one.end))
        found.append((index, start + begin + drift * begin**2, start + end * 0.98 + drift * end**2))
    return found


def played(*, start: float = 5.0, speed: float = 1.0, events: range | None = None) -> PlayThrough:
    return play_through(heard(start=start, speed=speed, events=events), factor=speed)


def lay_out_one(play: PlayThrough) -> Timeline:
    return lay_out_takes(LESSON, [play], film_seconds=90.0)


def test_tempo_of_a_play_through() -> None:
    assert lay_out_one(played(speed=0.62)).scenes[0].bpm == pytest.approx(62.0)
    assert lay_out_one(played(speed=0.9, events=range(3, 9))).scenes[0].bpm == pytest.approx(90.0)
    assert lay_out_one(played(events=range(4, 5))).scenes[0].bpm == pytest.approx(100.0)


def test_nearest_rung() -> None:
    for rung in LESSON.ladder:
        assert lay_out_one(played(speed=rung.factor * 1.02)).scenes[0].rung == rung
    assert lay_out_one(played(speed=1.4)).scenes[0].rung is None


@pytest.mark.parametrize(("stretch", "shown"), [(19.4, 18.0), (14.6, 14.6), (2.0, 8.0)])
def test_a_take_is_shown_from_where_it_is_counted_in(stretch: float, shown: float) -> None:
    """Two seconds before the first note, or where its stretch of a cut film begins; twelve at most."""
    told = ToldPlay(stretch, 60.0, 1.0)
    (scene,) = lay_out_takes(LESSON, [played(start=20.0)], film_seconds=70.0, told=[told]).scenes
    assert scene.start_seconds == pytest.approx(shown)
    assert scene.chapter_seconds == 1.0


def test_scenes_of_takes() -> None:
    timeline = lay_out_takes(LESSON, [played(start=40.0), played(start=5.0, speed=0.51)], film_seconds=70.0)
    assert [scene.kind for scene in timeline.scenes] == [SceneKind.TAKE] * 2
    slow, full = timeline.scenes
    assert slow.start_seconds == pytest.approx(3.0)
    assert slow.highlights[0].start_seconds == pytest.approx(5.0)
    assert full.highlights[0].start_seconds == pytest.approx(40.0)
    assert slow.rung == LESSON.ladder[0]
    assert full.rung == LESSON.ladder[-1]
    assert slow.layout is None
    assert timeline.seconds == 70.0
    for scene in timeline.scenes:
        for one in scene.highlights:
            onset = float(LESSON.route.events[one.event].event.onset)
            assert scene.glide.at(one.start_seconds) == pytest.approx(scene.beat_times.seconds_at(onset), abs=1e-6)
        assert scene.headings[0].start_seconds == scene.start_seconds
        assert scene.headings[-1].end_seconds == scene.end_seconds


def test_missed_notes_are_not_lit_and_the_ribbon_goes_on() -> None:
    play = play_through(heard(drift=0.01), missed=range(4, 7))
    timeline = lay_out_takes(LESSON, [play], film_seconds=60.0)
    scene = timeline.scenes[0]
    assert [one.event for one in scene.highlights] == [*range(4), *range(7, COUNT)]
    places = [scene.beat_times.seconds_at(one.event.onset) for one in LESSON.route.events]
    assert all(before < after for before, after in pairwise(places))
    for one in scene.highlights:
        assert places[one.event] == pytest.approx(one.start_seconds)


def test_the_ribbon_shows_what_is_played_and_not_what_would_come_next() -> None:
    """Of a part by itself: notes of the next one would run into the harp, and nobody plays them."""
    part = LESSON.parts[1]
    scene = lay_out_one(played(events=range(part.first, part.last + 1))).scenes[0]
    assert scene.shown == range(part.first, part.last + 1)
    look = StripLook(load_palette("night"), "sign", 300, 40.0, 240.0)
    whole, strip = (
        ribbon_strip(LESSON.route, (), scene.beat_times, look, shown=shown).system for shown in (None, scene.shown)
    )
    assert [piece.index for piece in strip.events] == list(scene.shown)
    assert (strip.frame.lowest, strip.frame.highest) == (whole.frame.lowest, whole.frame.highest)
    assert strip.frame.right == whole.frame.right
    left, right = (strip.frame.x_of(beats) for beats in (strip.events[0].onset, strip.events[-1].end))
    for links in (strip.links, strip.over):
        assert all(left - 1 <= x <= right + 1 for one in links for x, _ in flattened(one, 2))
    assert 0 < len(strip.links) < len(whole.links)
    assert strip.under == whole.under
    named = ribbon_strip(
        LESSON.route, parts_in_beats(LESSON, "en"), scene.beat_times, look, shown=scene.shown
    ).system.under
    assert [one.text for one in named if isinstance(one, Label) and one.role == "part_text"] == [part.label]


def test_what_is_lit_at_a_tempo_is_all_of_it() -> None:
    assert all(scene.shown is None for scene in lay_out_film(LESSON).scenes)


def test_a_part_whose_first_note_was_missed_still_has_its_heading() -> None:
    first = LESSON.parts[1].first
    scene = lay_out_takes(LESSON, [play_through(heard(), missed=[first])], film_seconds=60.0).scenes[0]
    assert [heading.part for heading in scene.headings] == list(range(len(LESSON.parts)))


def test_short_gaps_are_shared() -> None:
    one = played(start=2.0)
    end = max(event.end_seconds for event in one.events)
    timeline = lay_out_takes(LESSON, [one, played(start=end + 1.0)], film_seconds=60.0)
    first, second = timeline.scenes
    assert first.end_seconds <= second.start_seconds
    assert second.start_seconds <= second.highlights[0].start_seconds


@pytest.mark.parametrize(
    ("events", "why"),
    [
        ([], "no play-through"),
        ([(1, 1.0, 2.0), (0, 2.0, 3.0)], "goes on in time"),
        ([(0, 2.0, 2.0)], "no play-through"),
        ([(0, -1.0, 2.0)], "no play-through"),
    ],
)
def test_what_is_no_play_through(events: list[tuple[int, float, float]], why: str) -> None:
    with pytest.raises(FilmError, match=why):
        lay_out_one(play_through(events))


def test_an_event_that_begins_before_the_one_before_it_is_left_out() -> None:
    scene = lay_out_one(play_through([(0, 2.0, 3.0), (1, 1.0, 3.0), (2, 3.0, 4.0)])).scenes[0]
    assert [one.event for one in scene.highlights] == [0, 2]


def test_play_throughs_that_do_not_fit_the_film() -> None:
    with pytest.raises(FilmError, match="in a film of 10 s"):
        lay_out_takes(LESSON, [played()], film_seconds=10.0)
    with pytest.raises(FilmError, match="two play-throughs at once"):
        lay_out_takes(LESSON, [played(), played(start=6.0)], film_seconds=90.0)
    with pytest.raises(FilmError, match=f"the lesson has {COUNT}"):
        lay_out_one(play_through([(COUNT, 1.0, 2.0)]))
