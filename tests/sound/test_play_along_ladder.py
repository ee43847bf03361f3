"""Play-alongs: count-in, click, level, silence at the ends, names, speed; the mix and the room beneath."""

from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.lesson import Rung
from reedpath.phrase import Metre, Phrase, Tempo, counted_beats
from reedpath.signal import Samples
from reedpath.sound import PlayAlong, Turns, lay_out, play_along, play_along_name, play_along_seconds
from reedpath.sound.click import Click, render_clicks
from reedpath.sound.mix import CEILING_DB, Track, faded, limited, mixed, placed_in_room
from support.built_routes import built_lesson, built_route

LICK = "2d 3d' 4b 4d'! 4d:1~ r 5d:1/4 4d:1/4 4b 3d'' 3d:1^1 2d:3/2_2~ (1 2 3)d:1! 6b 5d 4d 3d' 2d:2~"
CEILING = 10 ** (CEILING_DB / 20)


def lesson(text: str = LICK, **more: object):
    return built_lesson(built_route(text, **more))


def test_one_bar_is_counted_with_its_first_beat_marked() -> None:
    given = lesson("2d:1 3d:1", bpm=120.0)
    layout = lay_out(given, given.ladder[-1])
    assert [round(click.seconds - layout.zero_seconds, 6) for click in layout.clicks] == [-2.0, -1.5, -1.0, -0.5]
    assert [click.first for click in layout.clicks] == [True, False, False, False]
    assert layout.clicks[0].seconds > 0.0


@pytest.mark.parametrize("text", ["", "2d:1", LICK])
@pytest.mark.parametrize("bars", [0, 1, 4])
def test_how_long_it_sounds_is_known_without_its_tones(text: str, bars: int) -> None:
    given, options = lesson(text, bpm=90.0, swing=Fraction(2)), PlayAlong(count_in_bars=bars)
    for rung in given.ladder:
        assert play_along_seconds(given, rung, options) == lay_out(given, rung, options).seconds


def test_a_sound_too_long_is_refused_before_its_tones_are_laid_out() -> None:
    given = lesson("2d:4 3d:4", bpm=120.0)
    with pytest.raises(SoundError, match="1,000 minutes"):
        play_along_seconds(given, Rung("slow", 1e-4, 0.012))


@pytest.mark.parametrize(("bars", "clicks"), [(0, 0), (1, 4), (2, 8), (4, 16)])
def test_so_many_bars_are_counted_as_asked(bars: int, clicks: int) -> None:
    given = lesson("2d:1", bpm=60.0)
    layout = lay_out(given, given.ladder[-1], PlayAlong(count_in_bars=bars))
    assert len(layout.clicks) == clicks
    assert sum(click.first for click in layout.clicks) == bars


@pytest.mark.parametrize("bars", [-1, 5])
def test_too_many_bars_are_refused(bars: int) -> None:
    given = lesson("2d:1")
    with pytest.raises(SoundError, match=f"a count-in of {bars} bars: 0 to 4"):
        lay_out(given, given.ladder[0], PlayAlong(count_in_bars=bars))


def test_a_pickup_is_played_over_the_end_of_the_count() -> None:
    given = lesson("2d:1 3d:4", pickup=Fraction(1), bpm=60.0)
    layout = lay_out(given, given.ladder[-1])
    assert [click.seconds - layout.zero_seconds for click in layout.clicks] == pytest.approx([-3.0, -2.0, -1.0])
    long = lesson("2d:3 3d:4", pickup=Fraction(3), bpm=60.0)
    # one beat would be too little to come in on: a bar more
    assert len(lay_out(long, long.ladder[-1]).clicks) == 5


@pytest.mark.parametrize(
    ("count", "unit", "beats"), [(4, 4, 4), (3, 4, 3), (2, 2, 2), (6, 8, 2), (12, 8, 4), (5, 8, 5), (3, 8, 3)]
)
def test_metres_are_counted_in_their_own_beats(count: int, unit: int, beats: int) -> None:
    phrase = Phrase((), metres=(Metre(Fraction(0), count, unit),))
    bar = phrase.metres[0].bar
    found = counted_beats(phrase, -bar, Fraction(0))
    assert len(found) == beats
    assert [beat.first for beat in found] == [True] + [False] * (beats - 1)


def test_a_click_through_follows_tempo_and_metre() -> None:
    given = lesson(
        "2d:4 3d:3 4d:3",
        metres=(Metre(Fraction(0), 4, 4), Metre(Fraction(4), 3, 4)),
        tempos=(Tempo(Fraction(0), 60.0), Tempo(Fraction(4), 120.0)),
    )
    layout = lay_out(given, given.ladder[-1], PlayAlong(click_through=True))
    after = [round(click.seconds - layout.zero_seconds, 3) for click in layout.clicks if click.seconds > 4.1]
    assert after == [0.0, 1.0, 2.0, 3.0, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5]
    assert [click.first for click in layout.clicks].count(True) == 4


def test_nothing_is_clipped_and_both_ends_are_silent() -> None:
    given = lesson(bpm=110.0)
    for rung in given.ladder:
        sound = play_along(given, rung)
        assert sound.channels == 2
        assert sound.peak <= CEILING + 1e-6
        assert np.abs(sound.array[: int(0.1 * sound.rate)]).max() < 1e-4
        assert np.abs(sound.array[-int(0.2 * sound.rate) :]).max() < 1e-3


def test_rungs_are_as_long_as_their_tempo_says() -> None:
    given = lesson("2d:4", bpm=60.0)
    for rung in given.ladder:
        seconds = 8 * 60 / rung.bpm
        assert play_along(given, rung).duration_seconds == pytest.approx(seconds + 0.15 + 1.2, abs=0.001)


def test_a_muted_voice_leaves_only_the_click() -> None:
    given = lesson(bpm=100.0)
    sound = play_along(given, given.ladder[-1], PlayAlong(turns=Turns.YOURS))
    layout = lay_out(given, given.ladder[-1])
    assert np.abs(sound.array[int((layout.zero_seconds + 0.1) * sound.rate) :]).max() < 1e-4
    assert sound.peak > 0.1


def test_an_empty_lesson_is_a_count_and_silence() -> None:
    given = lesson("")
    sound = play_along(given, given.ladder[0])
    assert np.isfinite(sound.array).all()


def test_files_are_named_by_their_tempo() -> None:
    names = [play_along_name(Rung("", factor, 90 * factor)) for factor in (0.5, 0.75, 1.0)]
    assert names == ["play-along-45.wav", "play-along-67.5.wav", "play-along-90.wav"]


def test_clicks_start_on_their_sample_and_first_beats_are_louder() -> None:
    sound = render_clicks([Click(0.5, first=True), Click(1.0, first=False)], seconds=1.5, rate=44_100)
    assert np.all(sound[:22_050] == 0.0)
    assert np.abs(sound[22_050:22_060]).max() > 0.01
    assert np.abs(sound[22_050:30_000]).max() > 1.3 * np.abs(sound[44_100:50_000]).max()


def test_a_first_beat_knocks_a_fifth_higher_and_4_db_louder() -> None:
    plain, first = (render_clicks([Click(0.0, first=one)], seconds=0.5, rate=44_100) for one in (False, True))
    assert 20 * np.log10(np.abs(plain).max()) == pytest.approx(-18.0, abs=0.01)
    assert 20 * np.log10(np.abs(first).max()) == pytest.approx(-14.0, abs=0.01)
    plain_hz, first_hz = (np.argmax(np.abs(np.fft.rfft(one, 44_100))) for one in (plain, first))
    assert plain_hz == pytest.approx(1180, abs=20)  # the lowest mode is the strongest
    assert first_hz == pytest.approx(3 / 2 * 1180, abs=30)


def test_a_knock_dies_away() -> None:
    knock = np.abs(render_clicks([Click(0.0, first=False)], seconds=0.2, rate=44_100))
    parts = [knock[at : at + 441].max() for at in range(0, 4410, 441)]
    assert all(after < before for before, after in itertools.pairwise(parts) if before > 0)
    assert parts[3] < parts[0] / 8
    assert np.all(knock[round(0.09 * 44_100) :] == 0.0)


def mixed_down(tracks: list[Track], *, seconds: float, rate: int) -> Samples:
    """Tracks mixed, held under the ceiling and faded, as every sound is in the end."""
    return Samples(faded(limited(mixed(tracks, seconds=seconds, rate=rate), rate), rate).T, rate)


def test_both_ends_are_faded_straight_over_10_ms() -> None:
    out = mixed_down([Track(np.full(44_100, 0.25, dtype=np.float32))], seconds=1.0, rate=44_100).array
    ramp = np.linspace(0.0, 0.25, 441)[:, np.newaxis]
    assert out[:441] == pytest.approx(np.broadcast_to(ramp, (441, 2)), abs=1e-6)
    assert out[-441:] == pytest.approx(np.broadcast_to(ramp[::-1], (441, 2)), abs=1e-6)
    assert out[441:-441] == pytest.approx(0.25, abs=1e-6)


@pytest.mark.parametrize(("pan", "sides"), [(-1.0, (2**0.5, 0.0)), (0.0, (1.0, 1.0)), (1.0, (0.0, 2**0.5))])
def test_panned_sounds_keep_their_power(pan: float, sides: tuple[float, float]) -> None:
    sound = np.full(4410, 0.25, dtype=np.float32)
    out = mixed_down([Track(sound, gain_db=-6.0, pan=pan)], seconds=0.1, rate=44_100).array
    assert out[2000] == pytest.approx([0.25 * 10 ** (-6 / 20) * side for side in sides], abs=1e-6)


def test_a_click_past_the_end_is_cut() -> None:
    sound = render_clicks([Click(0.98, first=False), Click(2.0, first=True)], seconds=1.0, rate=8000)
    assert sound.shape == (8000,)


def test_the_limiter_holds_the_ceiling_and_leaves_the_rest_alone() -> None:
    times = np.arange(44_100) / 44_100
    sound = (0.4 * np.sin(2 * np.pi * 440 * times)).astype(np.float32)
    sound[20_000:22_000] *= 6.0
    out = mixed_down([Track(sound)], seconds=1.0, rate=44_100).array[:, 0]
    assert np.abs(out).max() <= CEILING + 1e-6
    assert out[2000:12_000] == pytest.approx(sound[2000:12_000], abs=1e-6)
    assert np.abs(out[20_500:21_500]).max() > 0.8 * CEILING


def test_a_quiet_mix_is_not_touched_but_at_its_faded_ends() -> None:
    sound = np.full(44_100, 0.25, dtype=np.float32)
    out = mixed_down([Track(sound, gain_db=-6.0)], seconds=1.0, rate=44_100).array
    assert out[1000:-1000] == pytest.approx(0.25 * 10 ** (-6 / 20), rel=1e-5)
    assert out[0, 0] == 0.0
    assert out[-1, 0] == 0.0


def test_panning_keeps_the_power() -> None:
    sound = np.full(4410, 0.1, dtype=np.float32)
    for pan in (-1.0, -0.3, 0.0, 0.6, 1.0):
        out = mixed_down([Track(sound, pan=pan)], seconds=0.1, rate=44_100).array[2000]
        assert np.sum(out**2) == pytest.approx(2 * 0.1**2, rel=1e-4)
    assert mixed_down([Track(sound, pan=1.0)], seconds=0.1, rate=44_100).array[2000, 0] == pytest.approx(
        0.0, abs=1e-6
    )


def test_the_room_answers_a_click_without_moving_it() -> None:
    click = np.zeros(200_000, dtype=np.float32)
    click[131_000] = 1.0
    out = placed_in_room(click, rate=44_100)
    assert np.argmax(np.abs(out[:, 0])) == 131_000
    assert np.abs(out[:131_000]).max() < 1e-6
    wet = out.copy()
    wet[131_000] = 0
    assert 10 * np.log10(np.sum(wet[:, 0] ** 2)) == pytest.approx(-13.0, abs=0.5)
    assert np.abs(out[131_000 + 15_000 :]).max() < 1e-6
    assert not np.allclose(wet[:, 0], wet[:, 1])


def test_a_long_sound_in_the_room_has_no_seams() -> None:
    steady = np.sin(2 * np.pi * 200 * np.arange(300_000) / 44_100).astype(np.float32)
    out = placed_in_room(steady, rate=44_100)[20_000:]
    peaks = np.abs(out[: len(out) // 441 * 441, 0]).reshape(-1, 441).max(axis=1)
    assert peaks.max() / peaks.min() < 1.01
