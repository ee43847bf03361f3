"""The timeline: scenes, what sounds, what is said, and when."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from msgspec.structs import replace

from reedpath.arrange import Spot
from reedpath.errors import FilmError, SettingsError
from reedpath.film import Glide, SceneKind, Timeline, lay_out_film
from reedpath.film.caption_groups import caption_groups_of, reading_seconds
from reedpath.lesson import Drill, Lesson, StepKind, make_lesson, rungs_named, steps_of
from reedpath.phrase import Tempo, timing_of
from reedpath.sound import PlayAlong, lay_out
from support.built_routes import built_lesson, built_route

TEXT = "2d'':1/2! 2d 3d' 4b:1 r:1/2 4d:1/2^1 (4 5)d:1 [1 4]b:1 6bo 6b 5d 4d:1_1 2d:2~"


def _lesson(text: str = f"{TEXT} {TEXT} 1b:4", **fields: object) -> Lesson:
    return make_lesson(built_route(text, key="A", **fields))  # type: ignore[arg-type]


# one spot late in the phrase and one early, so that the ribbon has to go back
LADDER = _lesson().ladder
LESSON = replace(
    _lesson(),
    drills=(
        Drill(Spot(15, 18, 9.0, ("breath", "travel")), 3, LADDER[:3]),
        Drill(Spot(1, 3, 4.0, ("travel",)), 2, LADDER[:2]),
    ),
)
TIMELINE = lay_out_film(LESSON)


def _assert_in_order(ones: tuple[object, ...], start: float, end: float) -> None:
    times = [(one.start_seconds, one.end_seconds) for one in ones]  # type: ignore[attr-defined]
    assert all(start - 1e-9 <= a <= b <= end + 1e-9 for a, b in times)
    assert all(before[1] <= after[0] + 1e-9 for before, after in pairwise(times))


def test_scenes_follow_one_another() -> None:
    scenes = TIMELINE.scenes
    assert [scene.kind for scene in scenes] == [SceneKind.STEPS] + [SceneKind.PLAY] * len(LESSON.ladder)
    assert [scene.rung for scene in scenes[1:]] == list(LESSON.ladder)
    assert scenes[0].start_seconds == 0
    assert all(before.end_seconds == after.start_seconds for before, after in pairwise(scenes))
    assert TIMELINE.seconds == scenes[-1].end_seconds


@pytest.mark.parametrize("place", range(len(TIMELINE.scenes)))
def test_nothing_overlaps_its_like(place: int) -> None:
    scene = TIMELINE.scenes[place]
    for ones in (scene.highlights, scene.headings, scene.captions, scene.counts):
        _assert_in_order(ones, scene.start_seconds, scene.end_seconds)
    assert scene.headings[0].start_seconds == scene.start_seconds
    assert scene.headings[-1].end_seconds == scene.end_seconds
    assert all(before.end_seconds == after.start_seconds for before, after in pairwise(scene.headings))


def test_a_played_scene_sounds_as_the_play_along_does() -> None:
    for scene, rung in zip(TIMELINE.scenes[1:], LESSON.ladder, strict=True):
        layout = lay_out(LESSON, rung)
        assert scene.layout == layout
        zero = scene.start_seconds + layout.zero_seconds
        assert [one.event for one in scene.highlights] == list(range(len(LESSON.route.events)))
        for one in scene.highlights:
            span = layout.plan.spans[one.event]
            assert one.start_seconds == pytest.approx(zero + span.start_seconds)
            assert one.end_seconds <= zero + span.end_seconds + 1e-9


def test_the_ribbon_is_at_a_note_when_it_sounds() -> None:
    for scene in TIMELINE.scenes:
        for one in scene.highlights:
            onset = float(LESSON.route.events[one.event].event.onset)
            assert scene.glide.at(one.start_seconds) == pytest.approx(scene.beat_times.seconds_at(onset), abs=1e-6)


def test_the_ribbon_never_runs_back_while_it_is_played() -> None:
    for scene in TIMELINE.scenes[1:]:
        assert scene.glide.ribbon_seconds == tuple(sorted(scene.glide.ribbon_seconds))


def test_every_taught_note_is_played_step_by_step_once_and_spots_as_often_as_is_said() -> None:
    scene = TIMELINE.scenes[0]
    taught = [
        index
        for part in LESSON.parts
        if part.same_as is None
        for index in range(part.first + part.shared, part.last + 1)
    ]
    spots = [
        index
        for drill in LESSON.drills
        for index in range(drill.spot.first, drill.spot.last + 1)
        for _ in range(drill.times)
    ]
    # parts are joined by playing them from the start, but for all of it, which the scenes after this one play
    joined = [
        index
        for block in steps_of(LESSON, "en")
        for step in block.steps
        if step.kind in (StepKind.THROUGH, StepKind.SEAM) and (step.first, step.last) != (0, LESSON.parts[-1].last)
        for index in range(step.first, step.last + 1)
    ]
    assert joined
    assert sorted(one.event for one in scene.highlights) == sorted(taught + spots + joined)


def test_of_a_long_way_from_the_start_only_the_joins_are_played() -> None:
    four = "r:1 {}b:4 {}d:4 {}b:4 {}d:4"
    lesson = _lesson(" ".join(four.format(*[hole] * 4) for hole in (4, 6, 8)), bpm=40.0)
    assert len(lesson.parts) == 3
    played = [one.event for one in lay_out_film(lesson).scenes[0].highlights]
    assert sorted(played) == sorted([*range(12), 3, 4, 7, 8])


def test_every_step_is_said_step_by_step_but_the_tempos() -> None:
    blocks = steps_of(LESSON, "en")
    said = {
        (caption.block, step)
        for caption in TIMELINE.scenes[0].captions
        for step in range(caption.first, caption.stop)
    }
    wanted = {
        (index, place)
        for index, block in enumerate(blocks)
        for place, step in enumerate(block.steps)
        if step.kind is not StepKind.LADDER and (step.kind is not StepKind.SPOT or step.first is not None)
    }
    assert said == wanted


@pytest.mark.parametrize("language", ["en", "fr"])
def test_there_is_time_to_read_every_caption(language: str) -> None:
    blocks = steps_of(LESSON, language)
    for scene in TIMELINE.scenes:
        for caption in scene.captions:
            text = " ".join(step.text for step in blocks[caption.block].steps[caption.first : caption.stop])
            assert caption.end_seconds - caption.start_seconds >= reading_seconds(len(text)) - 1e-9


def test_steps_are_the_same_in_every_language_but_for_their_words() -> None:
    def shape(language: str) -> list[tuple[object, ...]]:
        blocks = steps_of(LESSON, language)
        return [(block.parts, *((step.kind, step.first, step.last) for step in block.steps)) for block in blocks]

    assert shape("en") == shape("fr")


def test_a_tempo_is_announced_over_its_count_in() -> None:
    blocks = steps_of(LESSON, "en")
    for scene in TIMELINE.scenes[1:]:
        first = scene.captions[0]
        assert blocks[first.block].steps[first.first].kind is StepKind.LADDER
        assert first.start_seconds == scene.start_seconds
        assert [count.number for count in scene.counts] == [1, 2, 3, 4]
        assert scene.counts[-1].end_seconds <= scene.highlights[0].start_seconds + 1e-9


def test_steps_told_while_playing_come_before_their_note_is_over() -> None:
    groups = caption_groups_of(LESSON)
    first_events = {(group.block, group.pages[0].first): group.first for group in groups}
    for scene in TIMELINE.scenes[1:]:
        starts = {one.event: one.start_seconds for one in scene.highlights}
        for caption in scene.captions[1:]:
            event = first_events.get((caption.block, caption.first))
            if event is not None:
                assert caption.start_seconds <= starts[event] + 1e-9


def test_a_hole_that_sounds_twice_goes_dark_in_between() -> None:
    lesson = _lesson("4d:1 4d:1 4d':1 4d:1 4b:1 4b:1/8 4b:1/8")
    scene = lay_out_film(lesson, with_steps=False).scenes[-1]
    gaps = [after.start_seconds - before.end_seconds for before, after in pairwise(scene.highlights)]
    assert gaps[0] == pytest.approx(0.07, abs=0.001)
    assert gaps[1] == gaps[2] == gaps[3] == pytest.approx(0.0, abs=1e-9)  # the light changes by itself
    assert 0 < gaps[5] <= 0.07


def test_silent_events_are_not_lit() -> None:
    route = LESSON.route
    events = list(route.events)
    events[3] = replace(events[3], choice=replace(events[3].choice, move=None))
    lesson = replace(LESSON, route=replace(route, events=tuple(events)))
    for scene in lay_out_film(lesson).scenes:
        assert 3 not in {one.event for one in scene.highlights}


def test_one_note_makes_a_film() -> None:
    timeline = lay_out_film(_lesson("4b:1"))
    assert all([one.event for one in scene.highlights] == [0] for scene in timeline.scenes)


def test_swing_and_changes_of_tempo_are_in_the_beat_times() -> None:
    tempos = (Tempo(Fraction(0), 90.0), Tempo(Fraction(3), 140.0))
    route = built_route("4b 4d " * 8, swing=Fraction(2), tempos=tempos)
    lesson = make_lesson(route)
    for scene, rung in zip(lay_out_film(lesson, with_steps=False).scenes, lesson.ladder, strict=True):
        timing = timing_of(route.phrase).scaled(rung.factor)
        assert scene.layout is not None
        for eighth in range(17):
            beats = Fraction(eighth, 2)
            expected = scene.layout.zero_seconds + timing.seconds_at(beats)
            assert scene.beat_times.seconds_at(beats) == pytest.approx(expected, abs=1e-9)


def test_rungs_by_name() -> None:
    names = [rung.name for rung in LESSON.ladder]
    assert rungs_named(LESSON.ladder, [names[-1], names[0]]) == (LESSON.ladder[0], LESSON.ladder[-1])
    assert rungs_named(LESSON.ladder, ()) == LESSON.ladder
    with pytest.raises(SettingsError, match="the ladder has no tempo 'allegro'"):
        rungs_named(LESSON.ladder, ["allegro"])


def test_nothing_to_film() -> None:
    empty = built_lesson(built_route(""))
    with pytest.raises(FilmError, match="nothing to film"):
        lay_out_film(empty)
    with pytest.raises(FilmError, match="at least one tempo"):
        lay_out_film(LESSON, rungs=())


def test_no_count_in() -> None:
    timeline = lay_out_film(LESSON, with_steps=False, play=PlayAlong(count_in_bars=0))
    assert timeline.scenes[0].counts == ()


def test_a_moment_between_scenes_has_none() -> None:
    assert Timeline((), 3.0).scene_at(1.0) is None
    assert TIMELINE.scene_at(-1.0) is None
    assert TIMELINE.scene_at(TIMELINE.seconds) is None
    assert TIMELINE.scene_at(0.0) is TIMELINE.scenes[0]


def test_a_glide_goes_through_its_points_and_is_still_outside() -> None:
    glide = Glide((0.0, 1.0, 4.0), (0.0, 2.0, 3.0))
    assert [glide.at(moment) for moment in (0.0, 1.0, 4.0, 2.5, -1.0, 7.0)] == [0.0, 2.0, 3.0, 2.5, 0.0, 3.0]
