"""What captions and chapters say and when, of timelines made by hand, and their text as files."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from reedpath.film import (
    Cue,
    SceneKind,
    Timeline,
    caption_cues,
    chapter_cues,
    format_srt,
    format_webvtt,
    lay_out_film,
)
from reedpath.film.captions import caption_text, round_words, split_words, tempo_words
from reedpath.film.timeline import Caption, Glide, Highlight, RoundSpan, Scene, SceneHeading
from reedpath.lesson import Rung, make_lesson, steps_of
from reedpath.phrase import timing_of
from reedpath.wording import catalogue_names, load_catalogue
from support.built_routes import built_route

EN, FR = load_catalogue("en"), load_catalogue("fr")
LESSON = replace(make_lesson(built_route("2d:1 3d':1 4b:1 4d:1", key="C", bpm=120.0)), title="Small (invented)")
SLOW = Rung("slow", 0.5, 60.0)


def scene(start: float, end: float, *, kind: SceneKind = SceneKind.PLAY, **more: object) -> Scene:
    fields: dict[str, object] = {
        "bpm": 60.0, "rung": SLOW, "highlights": (), "headings": (), "captions": (), "counts": (),
        "beat_times": timing_of(LESSON.route.phrase), "glide": Glide((0.0,), (0.0,)),
    }  # fmt: skip
    return Scene(kind=kind, start_seconds=start, end_seconds=end, **(fields | more))  # type: ignore[arg-type]


def test_what_sounds_stands_over_the_steps_and_silence_says_nothing():
    captions = (Caption(0, 0, 1, 1.0, 4.0),)
    one = scene(0.0, 6.0, highlights=(Highlight(0, 0.5, 2.0), Highlight(1, 3.0, 3.5)), captions=captions)
    cues = caption_cues(LESSON, Timeline((one,), 6.0), EN)
    assert [(cue.start_seconds, cue.end_seconds) for cue in cues] == [
        (0.5, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 3.5), (3.5, 4.0),
    ]  # fmt: skip
    step = caption_text(LESSON, captions[0], steps_of(LESSON, EN), EN)
    assert cues[0].lines == ("-2 · 2 draw",)
    assert cues[1].lines[0] == "-2 · 2 draw"
    assert " ".join(cues[1].lines[1:]) == " ".join(cues[2].lines) == " ".join(split_words(step))
    assert cues[3].lines[0].startswith("-3' · 3 draw")
    assert max(len(line) for cue in cues for line in cue.lines) <= 42


@pytest.mark.parametrize("language", catalogue_names())
def test_lines_are_as_long_as_readers_of_the_language_are_used_to(language):
    words = load_catalogue(language)
    cues = caption_cues(LESSON, lay_out_film(LESSON), words)
    assert max(len(line) for cue in cues for line in cue.lines) <= words.grammar.captions.line


def test_cues_that_go_on_are_one_and_moments_go_to_the_one_before():
    lit = (Highlight(0, 0.0, 1.0), Highlight(0, 1.0, 2.0), Highlight(1, 2.0, 2.01), Highlight(0, 3.0, 4.0))
    cues = caption_cues(LESSON, Timeline((scene(0.0, 5.0, highlights=lit),), 5.0), EN)
    assert [(cue.start_seconds, cue.end_seconds, cue.lines[0]) for cue in cues] == [
        (0.0, 2.01, "-2 · 2 draw"),
        (3.0, 4.0, "-2 · 2 draw"),
    ]


def test_a_chapter_for_each_part_of_each_scene():
    headings = (SceneHeading(2.0, 3.0), SceneHeading(3.0, 5.0, block=1), SceneHeading(5.0, 9.0, part=0))
    steps = scene(2.0, 9.0, kind=SceneKind.STEPS, rung=None, headings=headings)
    plain = scene(9.0, 12.0)
    chapters = chapter_cues(LESSON, Timeline((steps, plain), 12.0), EN)
    blocks = steps_of(LESSON, EN)
    assert [(cue.start_seconds, cue.end_seconds) for cue in chapters] == [
        (0.0, 2.0), (2.0, 3.0), (3.0, 5.0), (5.0, 9.0), (9.0, 12.0),
    ]  # fmt: skip
    titles = [cue.lines[0] for cue in chapters]
    assert titles[0] == "Small (invented)"
    assert titles[1].startswith("Small (invented)")
    assert titles[2].startswith(blocks[1].title)
    assert all(title.endswith("tep by step") for title in titles[1:4])
    assert titles[4] == "slow · ♩ = 60"


def test_a_chapter_begins_with_what_is_said_before_it():
    def heading(start: float, end: float) -> tuple[SceneHeading, ...]:
        return (SceneHeading(start, end - 1.0, part=0), SceneHeading(end - 1.0, end, part=0))

    scenes = (
        scene(9.0, 12.0, headings=heading(9.0, 12.0), told_from=4.0),
        scene(18.0, 20.0, headings=heading(18.0, 20.0), told_from=13.0),
        scene(21.0, 23.0, told_from=20.5),
    )
    chapters = chapter_cues(LESSON, Timeline(scenes, 23.0), EN)
    assert [one.start_seconds for one in chapters] == [0.0, 4.0, 11.0, 13.0, 19.0, 20.5]


def test_the_opening_is_a_chapter_only_where_it_lasts():
    for start, count in ((0.4, 1), (0.6, 2)):
        assert len(chapter_cues(LESSON, Timeline((scene(start, 9.0),), 9.0), EN)) == count
    assert chapter_cues(LESSON, Timeline((), 0.0), EN) == ()


def test_rounds_of_a_band_are_chapters_with_whose_turn_it_is():
    rounds = (RoundSpan(1, 2, False, 1.0, 4.0), RoundSpan(2, 2, True, 4.0, 7.0))
    heading = (SceneHeading(0.0, 8.0, part=0),)
    chapters = chapter_cues(LESSON, Timeline((scene(0.0, 8.0, rounds=rounds, headings=heading),), 8.0), EN)
    assert [(cue.start_seconds, cue.end_seconds) for cue in chapters] == [(1.0, 4.0), (4.0, 8.0)]
    assert "round 1 of 2" in chapters[0].lines[0]
    assert "your turn" not in chapters[0].lines[0]
    assert "round 2 of 2 · your turn" in chapters[1].lines[0]
    assert round_words(None, EN) == ""


@pytest.mark.parametrize(
    ("kind", "bpm", "rung", "english", "french"),
    [
        (SceneKind.PLAY, 60.04, SLOW, "slow · ♩ = 60", "lent · ♩ = 60"),
        (SceneKind.PLAY, 52.5, Rung("mine", 0.5, 52.5), "♩ = 52.5", "♩ = 52,5"),
        (SceneKind.TAKE, 52.6, None, "♩ = 53", "♩ = 53"),
        (SceneKind.TAKE, 61.7, SLOW, "slow · ♩ = 60", "lent · ♩ = 60"),  # nobody hits a tempo exactly
        (SceneKind.TAKE, 62.3, SLOW, "slow · ♩ = 62", "lent · ♩ = 62"),
    ],
)
def test_tempos_in_words(kind, bpm, rung, english, french):
    one = scene(0.0, 1.0, kind=kind, bpm=bpm, rung=rung)
    assert tempo_words(one, EN) == english
    assert tempo_words(one, FR).replace("\u202f", " ").replace("\u00a0", " ") == french


CUES = [
    Cue(3723.5, 3724.0, ("last",)),
    Cue(0.0, 1.0005, ("a < b & c", " two\nlines ", "")),
    Cue(1.0, 1.0, ("too short",)),
    Cue(5.0, 6.0, (" ",)),
]


def test_cues_in_a_web_file():
    text = format_webvtt(CUES, title="Small --> (invented)", language="English")
    assert text == (
        "WEBVTT\n\nNOTE Small -> (invented), English\n\n"
        "1\n00:00:00.000 --> 00:00:01.000\na &lt; b &amp; c\ntwo lines\n\n"
        "2\n00:00:01.000 --> 00:00:01.001\ntoo short\n\n"
        "3\n01:02:03.500 --> 01:02:04.000\nlast\n"
    )
    assert format_webvtt([]) == "WEBVTT\n"
    assert format_webvtt([], language="English") == "WEBVTT\n\nNOTE English\n"


def test_cues_in_a_subtitle_file():
    assert format_srt(CUES) == (
        "1\n00:00:00,000 --> 00:00:01,000\na < b & c\ntwo lines\n\n"
        "2\n00:00:01,000 --> 00:00:01,001\ntoo short\n\n"
        "3\n01:02:03,500 --> 01:02:04,000\nlast\n"
    )
    assert format_srt([]) == ""
