"""Captions and chapters against the W3C's grammar of WebVTT, and read back by other people's readers.

The grammar is in `support.webvtt_grammar`, from the W3C's text. The readers are the packages webvtt-py (MIT) and srt
(MIT). SRT has no standard: that another reader reads it is the check.
"""

from __future__ import annotations

import html
import io
from datetime import timedelta

import pytest
import srt
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from reedpath.film import Cue, caption_cues, chapter_cues, format_srt, format_webvtt, lay_out_film
from reedpath.film.captions import split_words
from reedpath.lesson import make_lesson
from reedpath.wording import catalogue_names, load_catalogue
from support.built_routes import built_route
from support.examples import examples
from support.webvtt_grammar import NotWebVTT, read_webvtt

pytestmark = pytest.mark.outside

LESSON = make_lesson(
    built_route("2d'':1/2! 2d 3d' 4b:1 r:1/2 4d:1/2^1 (4 5)d:1 [1 4]b:1 6bo 6b 5d 4d:1_1 2d:2~ " * 2, key="A")
)
TIMELINE = lay_out_film(LESSON)


@pytest.mark.parametrize("language", catalogue_names())
def test_captions_and_chapters_keep_to_the_grammar(language: str) -> None:
    words = load_catalogue(language)
    cues, chapters = caption_cues(LESSON, TIMELINE, words), chapter_cues(LESSON, TIMELINE, words)
    read = read_webvtt(format_webvtt(cues, title=LESSON.title, language=language).encode())
    assert [(cue.start, cue.end) for cue in read] == [
        (pytest.approx(cue.start_seconds, abs=6e-4), pytest.approx(cue.end_seconds, abs=6e-4)) for cue in cues
    ]
    assert [html.unescape(cue.text) for cue in read] == ["\n".join(cue.lines) for cue in cues]
    titled = read_webvtt(format_webvtt(chapters).encode(), chapters=True)
    assert [html.unescape(cue.text) for cue in titled] == [cue.lines[0] for cue in chapters]


def test_other_readers_read_the_same() -> None:
    cues = caption_cues(LESSON, TIMELINE, load_catalogue("fr"))
    texts = ["\n".join(cue.lines) for cue in cues]
    vtt = webvtt.from_buffer(io.StringIO(format_webvtt(cues)))
    assert [html.unescape(one.text) for one in vtt] == texts
    assert [one.start_in_seconds for one in vtt] == pytest.approx([cue.start_seconds for cue in cues], abs=1.0)
    subtitles = list(srt.parse(format_srt(cues), ignore_errors=False))
    assert [one.content for one in subtitles] == texts
    assert [one.index for one in subtitles] == list(range(1, len(cues) + 1))
    for one, cue in zip(subtitles, cues, strict=True):
        assert abs(one.start - timedelta(seconds=cue.start_seconds)) < timedelta(milliseconds=1)
        assert abs(one.end - timedelta(seconds=cue.end_seconds)) < timedelta(milliseconds=1)


LINES = st.text(st.characters(exclude_categories=("Cs", "Cc")) | st.sampled_from("<>&-\n\r\t"), max_size=20)
CUES = st.lists(
    st.builds(
        lambda start, length, lines: Cue(start, start + length, tuple(lines)),
        st.floats(0, 360_000),
        st.floats(0, 20),
        st.lists(LINES, min_size=1, max_size=3),
    ),
    max_size=8,
)


@examples(150)
@given(CUES, LINES)
def test_whatever_is_said_the_file_keeps_to_the_grammar(cues: list[Cue], title: str) -> None:
    read = read_webvtt(format_webvtt(cues, title=title).encode())
    said = [cue for cue in cues if any(split_words(line) for line in cue.lines)]
    assert len(read) == len(said)
    assert len(list(srt.parse(format_srt(cues), ignore_errors=False))) == len(said)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("WEBVT\n\n", "begins with WEBVTT"),
        ("WEBVTT\n00:00.000 --> 00:01.000\nx\n", "empty line"),
        ("WEBVTT\n\n00:00,000 --> 00:01,000\nx\n", "no timings"),
        ("WEBVTT\n\n0:00.000 --> 00:01.000\nx\n", "no timings"),
        ("WEBVTT\n\n00:61.000 --> 01:01.000\nx\n", "no timings"),
        ("WEBVTT\n\n00:02.000 --> 00:01.000\nx\n", "ends after it starts"),
        ("WEBVTT\n\n00:00.000 --> 00:01.000\na < b\n", "bare '<'"),
        ("WEBVTT\n\n00:00.000 --> 00:01.000\nQ&A\n", "bare '&'"),
        ("WEBVTT\n\n1\n00:00.000 --> 00:01.000\nx\n\n1\n00:01.000 --> 00:02.000\nx\n", "unique"),
        ("WEBVTT\n\n00:05.000 --> 00:06.000\nx\n\n00:01.000 --> 00:02.000\nx\n", "after one at"),
        ("WEBVTT\n\n00:00.000 --> 00:01.000\nx", "line terminator"),
    ],
)
def test_the_grammar_refuses(text: str, why: str) -> None:
    with pytest.raises(NotWebVTT, match=why):
        read_webvtt(text.encode())


def test_overlapping_chapters_are_refused() -> None:
    text = "WEBVTT\n\n00:00.000 --> 00:03.000\nx\n\n00:01.000 --> 00:02.000\ny\n"
    assert len(read_webvtt(text.encode())) == 2
    with pytest.raises(NotWebVTT, match="overlap"):
        read_webvtt(text.encode(), chapters=True)
