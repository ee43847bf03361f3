"""A film with a band: its rounds, their ribbon, headings, chapters and count-in."""

from __future__ import annotations

from dataclasses import replace as replace_of_shapes
from fractions import Fraction
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.errors import SettingsError, SoundError
from reedpath.film import Timeline, caption_cues, chapter_cues, lay_out_film
from reedpath.film.frames import FramePainter
from reedpath.film.screens import load_screen
from reedpath.film.strips import _count_shapes, bar_in_round, in_a_row, remaining_beats
from reedpath.lesson import make_lesson
from reedpath.page import Label, parts_in_beats, ribbon_of
from reedpath.phrase import Metre
from reedpath.pitch import Key
from reedpath.sound import Backing, PlayAlong, Turns, lay_out, lay_out_backing
from reedpath.wording import load_catalogue
from support.built_routes import built_route, in_source_bars

TEXT = "2d'':1/2! 2d 3d' 4b:1 r:1/2 4d:1/2 (4 5)d:1 [1 4]b:1 6bo 6b 5d 4d:1_1 2d:2~"


def _lesson(text: str = TEXT, **fields: object):
    return make_lesson(built_route(text, key="A", **{"music_key": Key(4), **fields}))  # type: ignore[arg-type]


LESSON = _lesson()
PICKUP = _lesson(swing=Fraction(2), pickup=Fraction(1, 2))


def _timeline(lesson=LESSON, **fields: object) -> Timeline:
    return lay_out_film(lesson, with_steps=False, play=Backing(form="twelve-bar", rounds=3, **fields))  # type: ignore[arg-type]


@cache
def timeline_of_calls() -> Timeline:
    return _timeline(turns=Turns.CALL)


@pytest.mark.slow
@pytest.mark.parametrize("lesson", [LESSON, PICKUP])
def test_every_round_is_where_the_band_has_it(lesson) -> None:
    timeline = _timeline(lesson, turns=Turns.CALL)
    count = len(lesson.route.events)
    for scene, rung in zip(timeline.scenes, lesson.ladder, strict=True):
        layout = lay_out_backing(lesson, rung, Backing(form="twelve-bar", rounds=3, turns=Turns.CALL))
        assert scene.backing == layout
        assert scene.layout is None
        assert scene.end_seconds - scene.start_seconds == pytest.approx(layout.seconds)
        assert [one.event for one in scene.highlights] == list(range(count)) * 3
        for place, one in enumerate(scene.highlights):
            turn = place // count
            zero = scene.start_seconds + layout.rounds[turn].zero_seconds
            assert one.start_seconds == pytest.approx(zero + layout.plan.spans[one.event].start_seconds)
            # and the ribbon meets the comb there
            onset = lesson.route.events[one.event].event.onset + turn * layout.round_beats
            assert scene.glide.at(one.start_seconds) == pytest.approx(scene.beat_times.seconds_at(onset), abs=1e-6)
        assert [one.is_yours for one in scene.rounds] == [False, True, False]


@pytest.mark.parametrize("place", range(len(LESSON.ladder)))
def test_nothing_overlaps_its_like(place: int) -> None:
    scene = timeline_of_calls().scenes[place]
    for ones in (scene.highlights, scene.headings, scene.captions, scene.counts, scene.rounds):
        assert all(before.end_seconds <= after.start_seconds + 1e-9 for before, after in pairwise(ones))
    for ones in (scene.headings, scene.rounds):
        assert ones[0].start_seconds == scene.start_seconds
        assert ones[-1].end_seconds == pytest.approx(scene.end_seconds)
        assert all(before.end_seconds == pytest.approx(after.start_seconds) for before, after in pairwise(ones))


@pytest.mark.parametrize("bars", [0, 1, 2])
@pytest.mark.parametrize("lesson", [LESSON, PICKUP])
def test_it_is_counted_in_as_without_a_band(lesson, bars: int) -> None:
    backing = Backing(form="one-chord", count_in_bars=bars, click_through=True)
    for scene, rung in zip(lay_out_film(lesson, with_steps=False, play=backing).scenes, lesson.ladder, strict=True):
        alone = lay_out(lesson, rung)
        beat = 60 / rung.bpm
        assert len(scene.counts) == 4 * bars
        if bars:
            downbeat = scene.start_seconds + scene.backing.rounds[0].start_seconds
            assert scene.counts[-1].start_seconds == pytest.approx(downbeat - beat, abs=1e-6)
        if bars == 1:
            clicks = [scene.start_seconds + click.seconds for click in alone.clicks]
            assert [one.start_seconds for one in scene.counts] == pytest.approx(clicks)


def test_the_part_is_not_named_where_only_the_band_plays_on() -> None:
    scene = timeline_of_calls().scenes[-1]
    last = scene.highlights[len(LESSON.route.events) - 1]
    assert scene.heading_at(last.start_seconds).part == len(LESSON.parts) - 1
    assert scene.heading_at(last.end_seconds + 1.5).part is None
    second = scene.rounds[1]
    assert scene.heading_at(second.start_seconds + 0.1).part == 0


@pytest.mark.parametrize(("language", "yours"), [("en", "your turn"), ("fr", "au tour de l'élève")])
def test_chapters_are_rounds_and_tell_whose_turn_it_is(language: str, yours: str) -> None:
    words = load_catalogue(language)
    chapters = chapter_cues(LESSON, timeline_of_calls(), words)
    assert len(chapters) == 3 * len(timeline_of_calls().scenes)
    told = [yours in cue.lines[0].replace("\N{RIGHT SINGLE QUOTATION MARK}", "'") for cue in chapters]
    assert told == [False, True, False] * len(timeline_of_calls().scenes)
    assert len({cue.lines[0] for cue in chapters}) == len(chapters)
    cues = caption_cues(LESSON, timeline_of_calls(), words)
    assert all(before.end_seconds <= after.start_seconds + 1e-9 for before, after in pairwise(cues))


@pytest.mark.slow
@pytest.mark.parametrize("lesson", [LESSON, PICKUP])
def test_the_student_s_turn_is_announced_a_bar_before(lesson) -> None:
    timeline = timeline_of_calls() if lesson is LESSON else _timeline(lesson, turns=Turns.CALL)
    for scene in timeline.scenes:
        (call,) = scene.turn_calls
        bar, beat = 240 / scene.bpm, 60 / scene.bpm
        yours = scene.rounds[1]
        assert call.turn_seconds == yours.start_seconds
        assert call.end_seconds == pytest.approx(call.turn_seconds + bar)
        assert [one.number for one in call.counts] == [1, 2, 3, 4]
        assert call.start_seconds == call.counts[0].start_seconds
        # a pickup is played over the end of the last beat
        assert bar - beat - 1e-6 <= call.turn_seconds - call.start_seconds <= bar + 1e-6
        cues = [scene.start_seconds + one.seconds for one in scene.backing.cues]
        assert [one.start_seconds for one in call.counts] == pytest.approx(cues)
        assert scene.turn_call_at(call.start_seconds - 0.1) is None
        assert scene.turn_call_at(call.turn_seconds) == call


@pytest.mark.parametrize(
    ("language", "said"), [("en", ["Your turn next", "Your turn"]), ("fr", ["Bientôt", "Au tour de l'élève"])]
)
def test_captions_announce_it_too(language: str, said: list[str]) -> None:
    scene = timeline_of_calls().scenes[-1]
    call = scene.turn_calls[0]
    cues = caption_cues(LESSON, timeline_of_calls(), load_catalogue(language))
    for moment, words in zip((call.start_seconds + 0.1, call.turn_seconds + 0.1), said, strict=True):
        cue = next(one for one in cues if one.start_seconds <= moment < one.end_seconds)
        assert cue.lines[0].replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").startswith(words)
    after = [one for one in cues if one.start_seconds >= call.end_seconds]
    assert not any(said[1] in line for one in after for line in one.lines)


@pytest.mark.slow
def test_a_student_who_plays_alone_is_told_so_over_the_count_in() -> None:
    yours = PlayAlong(turns=Turns.YOURS)
    for timeline in (lay_out_film(LESSON, with_steps=False, play=yours), _timeline(turns=Turns.YOURS)):
        for scene in timeline.scenes:
            (call,) = scene.turn_calls
            assert call.counts == scene.counts
            assert call.start_seconds == scene.start_seconds
            assert call.turn_seconds == pytest.approx(scene.highlights[0].start_seconds)
    bare = lay_out_film(LESSON, with_steps=False, play=PlayAlong(count_in_bars=0, turns=Turns.YOURS)).scenes[0]
    assert bare.turn_calls[0].start_seconds == bare.start_seconds
    assert bare.turn_calls[0].end_seconds > bare.turn_calls[0].turn_seconds
    for timeline in (lay_out_film(LESSON), _timeline()):
        assert not any(scene.turn_calls for scene in timeline.scenes)


def test_a_turn_begins_with_the_first_bar_where_the_phrase_begins_with_a_rest() -> None:
    lesson = _lesson(f"r:2 {TEXT}")
    backing = Backing(form="twelve-bar", rounds=1, turns=Turns.YOURS)
    scene = lay_out_film(lesson, rungs=lesson.ladder[:1], with_steps=False, play=backing).scenes[0]
    assert scene.backing is not None
    assert scene.turn_calls[0].turn_seconds == scene.start_seconds + scene.backing.rounds[0].start_seconds
    assert scene.turn_calls[0].turn_seconds < scene.highlights[0].start_seconds - 1.0


def test_the_beats_are_counted_until_the_turn_begins() -> None:
    painter = FramePainter(LESSON, timeline_of_calls(), load_screen("landscape"), load_catalogue("en"))
    scene = timeline_of_calls().scenes[0]
    call = scene.turn_calls[0]
    signs = [painter._turn_sign(scene, one.start_seconds + 0.05) for one in call.counts]
    assert [(sign.text, sign.count) for sign in signs if sign] == [("Your turn next", n) for n in (1, 2, 3, 4)]
    now = painter._turn_sign(scene, call.turn_seconds + 0.05)
    assert now is not None
    assert (now.text, now.count) == ("Your turn", None)
    assert painter._turn_sign(scene, call.end_seconds + 0.05) is None


@pytest.mark.parametrize("screen", ["landscape", "upright"])
def test_the_announcement_is_large(screen: str) -> None:
    """It fills the zone of the captions with the ink of letters, and says each beat otherwise."""
    shown = load_screen(screen)
    painter = FramePainter(LESSON, timeline_of_calls(), shown, load_catalogue("en"))
    scene = timeline_of_calls().scenes[0]
    call, zone = scene.turn_calls[0], shown.caption
    assert zone is not None

    def seen(moment: float) -> np.ndarray:
        return painter.draw(moment)[zone.top : zone.bottom, zone.left : zone.right].astype(int)

    ground = seen(call.start_seconds - 0.1)
    pictures = [seen(one.start_seconds + 0.05) for one in call.counts] + [seen(call.turn_seconds + 0.05)]
    for picture in pictures:
        assert np.mean(np.abs(picture - ground) > 100) > 0.6
    assert not any(np.array_equal(one, other) for one, other in pairwise(pictures))


def test_rounds_stand_in_a_row() -> None:
    layout = timeline_of_calls().scenes[0].backing
    route, parts = in_a_row(LESSON.route, parts_in_beats(LESSON), layout)
    count = len(LESSON.route.events)
    assert len(route.events) == 3 * count
    assert len(parts) == 3 * len(LESSON.parts)
    for place, one in enumerate(route.events):
        before = LESSON.route.events[place % count]
        assert one.choice == before.choice
        assert one.event.onset == before.event.onset + place // count * layout.round_beats
    assert all(a.event.end <= b.event.onset for a, b in pairwise(route.events))
    rest = list(remaining_beats(route, layout))
    assert rest[-1].onset == 3 * layout.round_beats
    assert rest[0].onset >= route.phrase.end
    assert [bar_in_round(one.bar, layout) for one in rest if one.bar] == list(range(4, 13))


def test_bars_are_counted_anew_in_each_round() -> None:
    painter = FramePainter(LESSON, timeline_of_calls(), load_screen("landscape"), load_catalogue("en"))
    scene = timeline_of_calls().scenes[-1]
    painter.draw(scene.start_seconds + 1.0)
    system = painter._strip_of(scene).system
    numbers = [
        (shape.x, int(shape.text))
        for shape in system.under
        if isinstance(shape, Label) and shape.role == "number_text"
    ]
    assert [number for _, number in sorted(numbers)] == list(range(1, 13)) * 3


def test_the_phrase_s_bars_have_the_numbers_of_the_source_in_each_round() -> None:
    lesson = make_lesson(in_source_bars(built_route("2d:4 3d:4 4b:4", key="A", music_key=Key(4)), [7, 8, 7]))
    timeline = _timeline(lesson)
    painter = FramePainter(lesson, timeline, load_screen("landscape"), load_catalogue("en"))
    scene = timeline.scenes[-1]
    painter.draw(scene.start_seconds + 1.0)
    shapes = (shape for shape in painter._strip_of(scene).system.under if isinstance(shape, Label))
    marks = sorted((shape.x, shape.text) for shape in shapes if shape.role == "number_text")
    assert [mark for _, mark in marks] == ["7", "8", "7 (2)"] * 3


def test_what_the_band_cannot_play() -> None:
    waltz = _lesson("2d:1 4b:1 4d:1 2d:3", metres=(Metre(Fraction(0), 3, 4),))
    with pytest.raises(SoundError, match="not in 3/4"):
        lay_out_film(waltz, play=Backing())
    with pytest.raises(SettingsError, match="there is no form named 'sonata'"):
        lay_out_film(LESSON, play=Backing(form="sonata"))
    keyless = replace(LESSON, route=replace(LESSON.route, phrase=replace(LESSON.route.phrase, key=None)))
    with pytest.raises(SoundError, match="needs to know the key"):
        lay_out_film(replace(keyless, route=replace(keyless.route, position=None)), play=Backing())


PLACED = _lesson("2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1")


@cache
def placed_timeline() -> Timeline:
    play = Backing(form="twelve-bar", rounds=1, turns=Turns.CALL, at_bars=(5, 9))
    return lay_out_film(PLACED, with_steps=False, play=play)


def test_a_phrase_at_bars_of_the_form_is_shown_where_it_sounds() -> None:
    for scene in placed_timeline().scenes:
        layout = scene.backing
        assert layout is not None
        assert [one.onset for one in layout.rounds] == [16, 24, 32, 40]
        assert [(one.number, one.count, one.bar, one.is_yours) for one in scene.rounds] == [
            (1, 1, 5, False), (1, 1, 7, True), (1, 1, 9, False), (1, 1, 11, True)
        ]  # fmt: skip
        count = len(layout.plan.spans)
        for place, one in enumerate(scene.highlights):
            turn = layout.rounds[place // count]
            event = layout.route.events[one.event].event
            zero = scene.start_seconds + turn.zero_seconds
            assert one.start_seconds == pytest.approx(zero + layout.plan.spans[one.event].start_seconds)
            assert scene.glide.at(one.start_seconds) == pytest.approx(
                scene.beat_times.seconds_at(turn.onset + event.onset), abs=1e-6
            )
        route, _ = in_a_row(layout.route, (), layout)
        assert [one.event.onset for one in route.events[::count]] == [16, 24, 32, 40]
        assert [one.onset for one in remaining_beats(route, layout)][-1] == 48
        assert [bar_in_round(bar, layout) for bar in (1, 5, 12)] == [1, 5, 12]


def test_chapters_of_a_placed_phrase_name_the_bars() -> None:
    words = load_catalogue("en")
    first, second, *_ = chapter_cues(PLACED, placed_timeline(), words)
    assert "round 1 of 1, bar 5" in first.lines[0]
    assert "bar 7 · your turn" in second.lines[0]


def test_beats_that_are_counted_in_are_lines_over_all_holes_with_their_numbers() -> None:
    system = ribbon_of(LESSON.route, layout="strip", notation="sign", parts=parts_in_beats(LESSON)).systems[0]
    counts = [(1, -4.0), (2, -3.0), (3, -2.0), (4, -1.0)]
    frame = system.frame
    (bar, *beats), labels = (
        [shape for shape in _count_shapes(system, counts, 2.0) if isinstance(shape, Label) is is_label]
        for is_label in (False, True)
    )
    for (_, seconds), one in zip(counts, [bar, *beats], strict=True):
        x = frame.left + 2.0 * seconds
        assert (one.start, one.pieces) == ((x, frame.top - 0.5), (((x, frame.bottom + 0.5),),))
    assert [one.role for one in (bar, *beats)] == ["bar", "beat", "beat", "beat"]
    assert [one.text for one in labels] == ["1", "2", "3", "4"]
    assert [one.x - frame.left for one in labels] == pytest.approx([-7.9, -5.9, -3.9, -1.9])
    # at the height of the bars' numbers, and as large
    numbers = [shape for shape in system.under if isinstance(shape, Label) and shape.role == "number_text"]
    assert {(one.y, one.size) for one in labels} == {(one.y, one.size) for one in numbers}
    # over the cords, where there are none
    bare = replace_of_shapes(system, under=())
    assert {one.y for one in _count_shapes(bare, counts, 2.0) if isinstance(one, Label)} == {frame.top - 1.0}
