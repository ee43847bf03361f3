"""Going through a phrase step by step: what comes is shown as coming, and spots are practised as often as is said."""

from __future__ import annotations

from dataclasses import replace as with_fields
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.arrange import Choice, Spot
from reedpath.film import Caption, Scene, SceneKind, Timeline, caption_cues, lay_out_film
from reedpath.film.caption_groups import caption_groups_of
from reedpath.film.captions import caption_text, spot_time_words
from reedpath.film.comb import comb_column
from reedpath.film.frames import FramePainter
from reedpath.film.lesson_film import sound_of
from reedpath.film.screens import load_screen
from reedpath.film.zones import Badge, Look, NowText, now_picture
from reedpath.harp import Breath, Move
from reedpath.lesson import Drill, Lesson, OwnWords, StepKind, make_lesson, part_words, steps_of
from reedpath.lesson.model import StepPlace, WordsKind
from reedpath.page import load_palette, ribbon_of
from reedpath.phrase import timing_of
from reedpath.wording import load_catalogue
from support.built_routes import built_route

EN = load_catalogue("en")
# the second half begins as the first, after a rest, and ends otherwise
TEXT = "2d'':1/2! 2d 3d' 4b 4d:1 r:1/2 5d 6b:1/2 6bo 6b 5d:1 4d:1 r:1"
LESSON = make_lesson(built_route(f"{TEXT} 2d'':1/2! 2d 3d' 4b 4d:1 r:1/2 5d 6b:1/2 6bo 6b 4b:1 2d:1", key="A"))
FIGURE = "4b:1/2 4d 5d 6b 5d 4d 4b:1"
SPOT = Spot(2, 4, 9.0, ("breath", "travel"))


def _drilled(times: int) -> Lesson:
    return replace(LESSON, drills=(Drill(SPOT, times, LESSON.ladder[:3]),))


DRILLED = _drilled(5)
STEPS = lay_out_film(DRILLED).scenes[0]


def test_what_is_spoken_of_is_shown_as_coming_until_it_sounds() -> None:
    assert STEPS.coming
    starts = {one.start_seconds: one.event for one in STEPS.highlights}
    for one in STEPS.coming:
        assert one.start_seconds < one.end_seconds
        assert starts[one.end_seconds] == one.event
        assert STEPS.highlight_at((one.start_seconds + one.end_seconds) / 2) is None
    assert all(before.end_seconds <= after.start_seconds for before, after in pairwise(STEPS.coming))


def test_every_step_that_is_played_has_its_note_coming_from_the_moment_it_is_told() -> None:
    blocks = steps_of(DRILLED, "en")
    told = {one.start_seconds: one.event for one in STEPS.coming}
    for caption in STEPS.captions:
        step = blocks[caption.block].steps[caption.first]
        if step.kind in (StepKind.MOVE, StepKind.FIGURE) and caption.start_seconds in told:
            assert told.pop(caption.start_seconds) == step.first
    for caption in STEPS.captions:  # what is waited for first is told before it, and a spot by its bars
        step = blocks[caption.block].steps[caption.first]
        if caption.start_seconds in told:
            assert step.kind not in (StepKind.INTRO, StepKind.REPEAT)
            assert step.first is not None
            del told[caption.start_seconds]
    # the rest are of the times that a spot comes round
    assert list(told.values()) == [SPOT.first] * 4


def test_a_note_sounds_under_the_caption_that_names_it() -> None:
    blocks = steps_of(DRILLED, "en")
    named = 0
    for caption in STEPS.captions:
        for step in blocks[caption.block].steps[caption.first : caption.stop]:
            if step.kind is StepKind.MOVE:
                sounds = [
                    one
                    for one in STEPS.highlights
                    if one.event == step.first and caption.start_seconds <= one.start_seconds < caption.end_seconds
                ]
                assert sounds, step.text
                assert sounds[0].start_seconds >= caption.start_seconds + 0.99
                named += 1
    assert named > 8


def test_what_is_waited_for_first_may_be_told_on_a_page_of_its_own() -> None:
    """The note sounds under the second one, which names it, and is coming under both."""
    lesson = make_lesson(built_route("4d:1 r:1/2 4d:1/2^1 4d 4b 3d' 2d", key="A"))
    group = next(one for one in caption_groups_of(lesson) if one.played_page)
    assert [one.played_page for one in caption_groups_of(lesson)].count(0) > 2
    scene = lay_out_film(lesson).scenes[0]
    pages = [
        next(one for one in scene.captions if (one.block, one.first) == (group.block, page.first))
        for page in group.pages
    ]
    note = next(one for one in scene.highlights if one.event == group.first)
    assert pages[1].start_seconds + 1.0 == pytest.approx(note.start_seconds)
    coming = next(one for one in scene.coming if one.event == group.first)
    assert (coming.start_seconds, coming.end_seconds) == (pages[0].start_seconds, note.start_seconds)


def test_the_comb_in_the_frame_marks_what_comes() -> None:
    one = STEPS.coming[2]
    moment = one.start_seconds + 0.8
    shown = load_screen("landscape")
    zone = shown.ribbon

    def comb(scene: Scene) -> np.ndarray:
        painter = FramePainter(DRILLED, Timeline((scene,), scene.end_seconds), shown, EN)
        painter.draw(scene.start_seconds + 0.1)  # nothing sounds or comes: what is kept of it must not be put here
        frame = painter.draw(moment)
        return frame[zone.top : zone.bottom, zone.left + shown.comb_at - 40 : zone.left + shown.comb_at].astype(int)

    apart = np.abs(comb(STEPS) - comb(with_fields(STEPS, coming=()))) > 60
    assert 40 < np.count_nonzero(apart) < 1200


def test_only_what_is_gone_through_has_something_coming() -> None:
    for scene in lay_out_film(DRILLED).scenes[1:]:
        assert scene.kind is SceneKind.PLAY
        assert scene.coming == scene.spot_times == ()


@pytest.mark.parametrize("palette", ["night", "paper", "ink"])
def test_a_coming_sign_differs_from_a_sounding_one_in_form(palette: str) -> None:
    """Both made black and white alone: so much differs that ink has no part in."""
    look = Look(load_screen("landscape"), load_palette(palette))
    for move in (Move((4,), Breath.DRAW), Move((6,), Breath.BLOW)):
        badge = Badge(Choice(move), "x", "words")
        pictures = []
        for text in (NowText(badge, False, ()), NowText(badge, True, (), awaited=True), NowText(badge, True, ())):
            light = np.asarray(now_picture(text, look).convert("L")).astype(int)[:102, :160]
            ground = light[0, -1]
            pictures.append(np.abs(light - ground) > 30)
        sounding, coming, past = pictures
        assert np.count_nonzero(sounding != coming) > 1500
        assert np.count_nonzero(past != coming) > 1500
        assert np.count_nonzero(sounding != past) < 300


def test_the_holes_of_what_comes_stand_between_corners() -> None:
    system = ribbon_of(LESSON.route, layout="strip").systems[0]
    plain = list(comb_column(system, 10, 1.16, None))
    awaited = list(comb_column(system, 10, 1.16, None, Move((1, 4), Breath.BLOW)))
    corners = [shape for shape in awaited if shape.role == "halo"]
    assert awaited[: len(plain)] == plain
    assert len(corners) == len(awaited) - len(plain) == 8
    heights = {round(system.frame.y_of(hole), 6) for hole in (1, 4)}
    middles = [sum(shape.start[1] for shape in corners[at : at + 4]) / 4 for at in (0, 4)]
    assert {round(middle, 6) for middle in middles} == heights


def test_the_sign_of_what_comes_stands_in_the_place_of_the_one_that_sounds() -> None:
    painter = FramePainter(DRILLED, lay_out_film(DRILLED), load_screen("landscape"), EN)
    one = STEPS.coming[2]
    place = STEPS.last_highlight(one.start_seconds + 0.1)
    text = painter._now_text(STEPS, place, one.start_seconds + 0.1)
    assert text.awaited
    assert text.now == painter._badge(one.event)
    following = [light.event for light in STEPS.highlights[place + 2 : place + 5]]
    assert list(text.coming) == [painter._badge(event) for event in following]
    sounding = painter._now_text(STEPS, place + 1, one.end_seconds + 0.01)
    assert not sounding.awaited
    assert sounding.now == text.now


@pytest.mark.parametrize("times", [1, 3, 5])
def test_a_spot_is_played_slowly_as_often_as_is_said(times: int) -> None:
    lesson = _drilled(times)
    scene = lay_out_film(lesson).scenes[0]
    whole = scene.spot_times
    assert [(one.number, one.count) for one in whole] == [(number, times) for number in range(1, times + 1)]
    slow = lesson.drills[0].ladder[0]
    assert {one.bpm for one in whole} == {slow.bpm}
    timing = timing_of(lesson.route.phrase).scaled(slow.factor)
    events = [lesson.route.events[index].event for index in range(SPOT.first, SPOT.last + 1)]
    for one in whole:
        played = [light for light in scene.highlights if one.start_seconds <= light.start_seconds < one.end_seconds]
        assert [light.event for light in played] == [2, 3, 4]
        for light, event in zip(played, events, strict=True):
            later = timing.seconds_at(event.onset) - timing.seconds_at(events[0].onset)
            assert light.start_seconds - played[0].start_seconds == pytest.approx(later)
    assert all(before.end_seconds == after.start_seconds for before, after in pairwise(whole))


def test_a_spot_is_heard_as_often_as_is_said_with_its_click() -> None:
    scene, rate = STEPS, 11_025
    assert scene.layout is not None
    first = scene.spot_times[0].start_seconds - scene.start_seconds
    clicks = [click for click in scene.layout.clicks if click.seconds >= first]
    beat = 60 / DRILLED.drills[0].ladder[0].bpm
    assert [click.first for click in clicks[:4]] == [True, False, False, False]
    assert all(after.seconds - before.seconds == pytest.approx(beat) for before, after in pairwise(clicks))
    assert all(click.seconds >= first for click in scene.layout.clicks)
    last = max(one.end_seconds for one in scene.highlights) - scene.start_seconds
    assert last - beat <= clicks[-1].seconds < last  # with the last time the click is over
    assert {tone.event for tone in scene.layout.plan.tones if tone.start_seconds > first} == {2, 3, 4}
    sound = np.concatenate([block.array for block in sound_of(Timeline((scene,), scene.end_seconds), rate=rate)])
    level = np.abs(sound).max(axis=1)
    notes = [one for one in scene.highlights if one.start_seconds >= scene.spot_times[0].start_seconds]
    assert len(notes) == 15
    for one in notes:
        middle = (one.start_seconds + one.end_seconds) / 2 - scene.start_seconds
        near = level[round((middle - 0.05) * rate) : round((middle + 0.05) * rate)]
        assert np.median(near) > 0.02
    for before, after in pairwise(scene.spot_times):
        last = max(one.end_seconds for one in notes if one.start_seconds < before.end_seconds)
        quiet = level[round((last + 0.45) * rate) : round((after.start_seconds - 0.05) * rate)]
        assert np.median(quiet) < 0.01


def test_the_ribbon_goes_back_for_each_time() -> None:
    first, last = (DRILLED.route.events[index].event for index in (SPOT.first, SPOT.last))
    for before, after in pairwise(STEPS.spot_times):
        assert STEPS.glide.at(after.start_seconds) == pytest.approx(STEPS.beat_times.seconds_at(first.onset))
        ended = max(one.end_seconds for one in STEPS.highlights if one.start_seconds < before.end_seconds)
        assert STEPS.glide.at(ended) == pytest.approx(STEPS.beat_times.seconds_at(last.end), abs=0.02)
        held = [one for one in STEPS.coming if one.end_seconds == after.start_seconds]
        assert [one.event for one in held] == [SPOT.first]


@pytest.mark.parametrize(("language", "said"), [("en", "2 of 5"), ("fr", "2 sur 5")])
def test_the_head_counts_the_times(language: str, said: str) -> None:
    words = load_catalogue(language)
    second = STEPS.spot_times[1]
    assert STEPS.spot_time_at(second.start_seconds + 0.1) == second
    assert spot_time_words(second, STEPS, words).endswith(f" · {said}")
    assert "=" in spot_time_words(second, STEPS, words)
    assert spot_time_words(None, STEPS, words) == ""
    assert STEPS.spot_time_at(STEPS.highlights[0].start_seconds) is None


def test_the_count_of_times_stands_in_the_head_of_the_frame() -> None:
    shown = load_screen("landscape")
    painter = FramePainter(DRILLED, Timeline((STEPS,), STEPS.end_seconds), shown, EN)
    moments = [one.start_seconds + 0.2 for one in STEPS.spot_times]
    heads = [painter.draw(moment)[shown.head.top : shown.head.bottom].copy() for moment in moments]
    assert not any(np.array_equal(one, other) for one, other in pairwise(heads))


def test_a_spot_that_is_to_be_played_beyond_measure_is_played_as_often_as_can_be() -> None:
    assert len(lay_out_film(_drilled(100)).scenes[0].spot_times) == 64


# ------------------------------------------------------------------------------------------------ whole sentences


@pytest.mark.parametrize("language", ["en", "fr", "de", "es", "it"])
def test_captions_are_whole_sentences_whose_end_follows(language: str) -> None:
    """What introduces an ending is followed by it; told in passing, where nothing follows, it says so itself."""
    lesson = replace(LESSON, languages=(language,))
    words, blocks = load_catalogue(language), steps_of(lesson, language)
    assert any(step.text.endswith(":") for block in blocks for step in block.steps)
    steps, *played = lay_out_film(lesson).scenes
    for before, after in pairwise(steps.captions):
        if caption_text(lesson, before, blocks, words).endswith(":"):
            assert after.start_seconds == before.end_seconds
            assert (after.block, after.first) == (before.block, before.stop)
    told = [caption_text(lesson, one, blocks, words) for scene in played for one in scene.captions]
    assert told
    assert all(text[-1] in ".!?" for text in told)
    lines = [cue.lines[-1] for cue in caption_cues(lesson, lay_out_film(lesson, with_steps=False), words)]
    assert not any(line.endswith(":") for line in lines)


@pytest.mark.parametrize("language", ["en", "fr", "de", "es", "it"])
@pytest.mark.parametrize(
    ("lesson", "key"),
    [
        (LESSON, "part.like_whole"),
        (make_lesson(built_route(f"{FIGURE} r:1 {FIGURE} 6b:1 5d:1", key="A")), "part.like_on_whole"),
    ],
)
def test_a_part_that_ends_otherwise_is_told_in_passing_in_one_sentence(
    lesson: Lesson, key: str, language: str
) -> None:
    words, blocks = load_catalogue(language), steps_of(lesson, language)
    block = next(place for place, one in enumerate(blocks) if any(step.text.endswith(":") for step in one.steps))
    step = next(place for place, one in enumerate(blocks[block].steps) if one.text.endswith(":"))
    like = lesson.parts[blocks[block].parts[0]].like
    assert like is not None
    part = part_words(lesson, like, words)
    caption = Caption(block, step, step + 1, 0.0, 3.0, in_passing=True)
    said = caption_text(lesson, caption, blocks, words)
    assert said == words.sentence(words.say(key, part=part))
    assert part in said
    introduced = caption_text(lesson, with_fields(caption, in_passing=False), blocks, words)
    assert introduced == blocks[block].steps[step].text


def test_a_person_s_own_words_stay_as_they_are() -> None:
    blocks = steps_of(LESSON, "en")
    block = next(one for one in blocks if any(step.kind is StepKind.REPEAT for step in one.steps))
    step = next(one for one in block.steps if one.kind is StepKind.REPEAT)
    part = LESSON.parts[block.parts[0]].first
    place = StepPlace("part", part, step.first, step.last, 1)
    own = OwnWords("en", WordsKind.SENTENCE, place, "Again, my way:")
    lesson = replace(LESSON, own_words=(own,))
    scene = lay_out_film(lesson, with_steps=False).scenes[-1]
    told = [caption_text(lesson, one, steps_of(lesson, "en"), EN) for one in scene.captions]
    assert "Again, my way:" in told
