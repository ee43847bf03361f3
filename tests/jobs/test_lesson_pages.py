from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.jobs.kept_sounds import sound_key
from reedpath.jobs.lesson_pages import lesson_page, page_before_sounds, page_sound, page_with_sounds
from reedpath.jobs.progress import ProgressStep
from reedpath.jobs.rung_sounds import page_coding
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import Metre
from reedpath.signal import decode, resampled
from reedpath.sound import lay_out, play_along
from support.built_routes import built_route
from support.routes import lesson_of

SLOW, FULL = Rung("slow", 0.5, 60.0), Rung("full", 1.0, 120.0)


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    route = built_route("2d:1 3d' 4b 4d:1 r:1/2 4b:1/2", bpm=120.0, metres=[Metre(Fraction(0), 4, 4)])
    return replace(lesson_of(route, title="Gravel"), ladder=(SLOW, FULL))


@pytest.mark.parametrize("rung", [SLOW, FULL], ids=lambda rung: rung.name)
def test_its_times_are_those_of_the_sound(lesson, rung):
    sound, layout = page_sound(lesson, rung), lay_out(lesson, rung)
    assert sound.starts == tuple(layout.zero_seconds + span.start_seconds for span in layout.plan.spans)
    assert sound.ends == tuple(layout.zero_seconds + span.end_seconds for span in layout.plan.spans)
    assert [one.seconds for one in sound.counts] == [one.seconds for one in layout.clicks]
    assert [one.number for one in sound.counts] == [1, 2, 3, 4]


def test_the_sound_is_the_play_along_made_small(lesson):
    sound, whole = page_sound(lesson, FULL), play_along(lesson, FULL)
    heard = decode(sound.data)
    assert (heard.channels, heard.rate) == (1, 44_100)
    assert len(sound.data) * 8 / heard.duration_seconds < 67_000
    frames = min(heard.frames, whole.frames)
    one, other = heard.array[:frames, 0], whole.mono().array[:frames, 0]
    assert np.corrcoef(one, other)[0, 1] > 0.97


def test_it_lasts_until_the_last_bar_is_over(lesson):
    sound = page_sound(lesson, SLOW)
    assert sound.bar_end_seconds == pytest.approx(lay_out(lesson, SLOW).zero_seconds + 4.0)
    route = built_route("2d:1", bpm=60.0, metres=[Metre(Fraction(0), 4, 4)])
    short = page_sound(replace(lesson_of(route), ladder=(SLOW,)), Rung("slow", 0.5, 30.0))
    assert decode(short.data).duration_seconds >= short.bar_end_seconds - 0.01


def test_a_pickup_and_a_change_of_metre_are_counted_as_they_stand():
    route = built_route("4b:1/2 4d:3/2 5d:3/2", bpm=90.0, pickup=Fraction(1, 2), metres=[Metre(Fraction(0), 6, 8)])
    sound = page_sound(replace(lesson_of(route), ladder=(FULL,)), FULL)
    # one bar would leave less than two beats before the pickup, so two are counted
    assert [one.number for one in sound.counts] == [1, 2, 1, 2]
    assert sound.counts[-1].seconds < sound.starts[0]


def test_what_was_sounded_before_is_not_sounded_again(lesson, monkeypatch):
    before = play_along(lesson, FULL)

    def fail(*_: object) -> None:
        raise AssertionError("sounded again")

    monkeypatch.setattr("reedpath.jobs.rung_sounds.sound_blocks", fail)
    sound = page_sound(lesson, FULL, before)
    assert lesson_page(lesson, sounds=[sound]).startswith(b"<!doctype html>")


def test_a_page_made_before_its_sounds_is_the_one_made_after_them(lesson):
    sounds = [page_sound(lesson, rung) for rung in lesson.ladder]
    early = page_before_sounds(lesson)
    assert len(early) < 0.8 * len(lesson_page(lesson, sounds=sounds))
    assert page_with_sounds(early, [sound.data for sound in sounds]) == lesson_page(lesson, sounds=sounds)
    with pytest.raises(ValueError, match="no place"):
        page_with_sounds(b"<html></html>", [b"sound"])


def test_progress_is_told_for_each_tempo(lesson):
    told: list[ProgressStep] = []
    assert len(lesson_page(lesson, progress=told.append)) < 400_000
    assert [(one.name, one.done, one.detail) for one in told] == [("sound", 0, "60"), ("sound", 1, "120")]
    assert [one.total for one in told] == [3, 3]


@pytest.mark.slow
def test_half_a_minute_of_music_at_five_tempos_stays_under_six_megabytes():
    route = built_route("2d:1 3d' 4b 4d:1 " * 20, bpm=120.0)
    ladder = tuple(Rung("full", factor, 120.0 * factor) for factor in (0.5, 0.6, 0.7, 0.85, 1.0))
    lesson = replace(lesson_of(route), ladder=ladder)
    assert float(route.phrase.end) * 60 / 120 == 30.0
    assert len(lesson_page(lesson)) < 6_000_000


def test_sounds_of_a_page_too_large_for_e_mail_are_made_smaller(lesson):
    long = replace(lesson, ladder=(SLOW, FULL) * 200)
    assert page_coding(lesson) == (44_100, 64)
    assert page_coding(long) == (24_000, 48)
    sound, whole = page_sound(long, FULL), play_along(lesson, FULL)
    heard = decode(sound.data)
    assert (heard.channels, heard.rate) == (1, 24_000)
    one, other = resampled(heard, 44_100).array[:, 0], whole.mono().array[:, 0]
    frames = min(len(one), len(other))
    assert np.corrcoef(one[:frames], other[:frames])[0, 1] > 0.97
    assert sound_key(long, FULL) != sound_key(lesson, FULL)
