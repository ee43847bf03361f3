from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.jobs.kept_sounds import sound_key
from reedpath.jobs.lesson_pages import lesson_page, page_before_sounds, page_with_sounds, sounds_in_page, timed_sounds
from reedpath.jobs.rung_sounds import page_coding, sound_rung
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


@pytest.mark.parametrize(("number", "rung"), [(0, SLOW), (1, FULL)], ids=["slow", "full"])
def test_its_times_are_those_of_the_sound(lesson, number, rung):
    sound, layout = timed_sounds(lesson)[number], lay_out(lesson, rung)
    assert sound.rung == rung
    assert sound.starts == tuple(layout.zero_seconds + span.start_seconds for span in layout.plan.spans)
    assert sound.ends == tuple(layout.zero_seconds + span.end_seconds for span in layout.plan.spans)
    assert [one.seconds for one in sound.counts] == [one.seconds for one in layout.clicks]
    assert [one.number for one in sound.counts] == [1, 2, 3, 4]


def test_the_sound_is_the_play_along_made_small(lesson):
    sound, whole = sound_rung(lesson, FULL), play_along(lesson, FULL)
    heard = decode(sound)
    assert (heard.channels, heard.rate) == (1, 44_100)
    assert len(sound) * 8 / heard.duration_seconds < 67_000
    frames = min(heard.frames, whole.frames)
    one, other = heard.array[:frames, 0], whole.mono().array[:frames, 0]
    assert np.corrcoef(one, other)[0, 1] > 0.97


def test_it_lasts_until_the_last_bar_is_over(lesson):
    sound = timed_sounds(lesson)[0]
    assert sound.bar_end_seconds == pytest.approx(lay_out(lesson, SLOW).zero_seconds + 4.0)
    route = built_route("2d:1", bpm=60.0, metres=[Metre(Fraction(0), 4, 4)])
    short = replace(lesson_of(route), ladder=(Rung("slow", 0.5, 30.0),))
    [timed] = timed_sounds(short)
    assert decode(sound_rung(short, short.ladder[0])).duration_seconds >= timed.bar_end_seconds - 0.01


def test_a_pickup_and_a_change_of_metre_are_counted_as_they_stand():
    route = built_route("4b:1/2 4d:3/2 5d:3/2", bpm=90.0, pickup=Fraction(1, 2), metres=[Metre(Fraction(0), 6, 8)])
    [sound] = timed_sounds(replace(lesson_of(route), ladder=(FULL,)))
    # one bar would leave less than two beats before the pickup, so two are counted
    assert [one.number for one in sound.counts] == [1, 2, 1, 2]
    assert sound.counts[-1].seconds < sound.starts[0]


def test_the_sounds_stand_in_the_page_where_their_places_were_kept(lesson):
    sounds = [sound_rung(lesson, rung) for rung in lesson.ladder]
    early, whole = page_before_sounds(lesson), lesson_page(lesson)
    assert len(early) < 0.8 * len(whole) < 320_000
    assert page_with_sounds(early, sounds) == whole
    assert sounds_in_page(whole) == sounds
    with pytest.raises(ValueError, match="no place"):
        page_with_sounds(b"<html></html>", [b"sound"])


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
    heard, whole = decode(sound_rung(long, FULL)), play_along(lesson, FULL)
    assert (heard.channels, heard.rate) == (1, 24_000)
    one, other = resampled(heard, 44_100).array[:, 0], whole.mono().array[:, 0]
    frames = min(len(one), len(other))
    assert np.corrcoef(one[:frames], other[:frames])[0, 1] > 0.97
    assert sound_key(long, FULL) != sound_key(lesson, FULL)
