"""Whole ladders and looped spots: places, chapters, turns."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.arrange import Spot
from reedpath.errors import SoundError
from reedpath.lesson import Drill, Lesson, Rung
from reedpath.pitch import Key
from reedpath.signal import decode
from reedpath.sound import (
    Backing,
    Loop,
    Turns,
    encode_recording,
    ladder_name,
    lay_out_spot,
    play_along,
    play_ladder,
    play_spot,
    spot_name,
    with_band_name,
)
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.slow

RUNG = Rung("full", 1.0, 60.0)


def lesson(text: str = "2d:1 3d':1 3d'' 3d 4b:1 4d:4", **more: object) -> Lesson:
    return built_lesson(built_route(text, bpm=60.0, **more), factors=(0.5, 1.0))


def test_a_ladder_is_its_rungs_one_after_the_other() -> None:
    given = lesson()
    whole = play_ladder(given)
    alone = [play_along(given, rung) for rung in given.ladder]
    assert whole.samples.frames == sum(one.frames for one in alone)
    assert [chapter.title for chapter in whole.chapters] == ["♩ = 30", "♩ = 60"]
    assert whole.chapters[1].start_seconds == pytest.approx(alone[0].duration_seconds)
    assert np.array_equal(whole.samples.array[alone[0].frames :], alone[1].array)


def test_a_ladder_without_tempos_is_told() -> None:
    with pytest.raises(SoundError, match="ladder has no tempo"):
        play_ladder(replace(lesson(), ladder=()))


def test_a_spot_comes_round_in_whole_bars_with_a_beat_to_breathe() -> None:
    # events 2 and 3 lie in the third beat: a bar of four from there, at 60 a minute
    layout = lay_out_spot(lesson(), 2, 3, RUNG, Loop(times=3))
    assert np.diff(layout.starts) == pytest.approx([4.0, 4.0])
    assert layout.starts[0] == pytest.approx(0.15 + 4.0)
    for start, spans in zip(layout.starts, layout.spans, strict=True):
        assert [span.start_seconds - start for span in spans] == pytest.approx([0.0, 0.5])


def test_a_spot_that_fills_its_bar_gets_another_one() -> None:
    layout = lay_out_spot(lesson("2d:1 3d:1 4b:1 4d:1 5d:1"), 0, 3, RUNG, Loop(times=2))
    assert layout.starts[1] - layout.starts[0] == pytest.approx(8.0)


def test_a_spot_off_the_beat_keeps_its_place_in_the_beat() -> None:
    layout = lay_out_spot(lesson("2d:1/2 3d:1/2 4b:1"), 1, 1, RUNG, Loop(times=2))
    assert layout.spans[0][0].start_seconds - layout.starts[0] == pytest.approx(0.5)


def test_a_swung_spot_stays_swung() -> None:
    layout = lay_out_spot(lesson("2d 3d 4b 4d", swing=Fraction(2)), 0, 1, RUNG, Loop(times=1))
    assert layout.spans[0][1].start_seconds - layout.starts[0] == pytest.approx(2 / 3)


def test_nothing_of_the_neighbours_sounds() -> None:
    layout = lay_out_spot(lesson(), 3, 3, RUNG, Loop(times=1))
    (tone,) = layout.tones
    # the note before it in the same hole is not glided from
    assert len(set(tone.contour.hz)) == 1


def test_every_second_time_can_be_the_students() -> None:
    layout = lay_out_spot(lesson(), 0, 1, RUNG, Loop(times=4, turns=Turns.CALL))
    assert len(layout.starts) == 4
    assert [spans[0].start_seconds for spans in layout.spans] == pytest.approx(layout.starts[::2])


def test_a_spot_that_is_the_students_alone_is_clicked() -> None:
    layout = lay_out_spot(lesson(), 0, 1, RUNG, Loop(times=2, turns=Turns.YOURS))
    assert layout.tones == ()
    assert layout.spans == ()
    assert len(layout.starts) == 2
    drill = Drill(Spot(0, 1, 1.0, ()), 2, (RUNG,))
    silent = play_spot(lesson(), drill, Loop(times=2, turns=Turns.YOURS)).samples
    heard = play_spot(lesson(), drill, Loop(times=2)).samples
    assert silent.frames == heard.frames
    assert 0.0 < float(np.square(silent.array).sum()) < 0.5 * float(np.square(heard.array).sum())


def test_the_click_goes_on_unless_told_not_to() -> None:
    with_click = lay_out_spot(lesson(), 0, 1, RUNG, Loop(times=2))
    assert len(with_click.clicks) == 4 + 2 * 4
    without = lay_out_spot(lesson(), 0, 1, RUNG, Loop(times=2, click_through=False))
    assert len(without.clicks) == 4


def test_a_drill_is_looped_at_each_of_its_tempos() -> None:
    drill = Drill(Spot(0, 1, 1.0, ()), 2, (Rung("slow", 0.5, 30.0), RUNG))
    made = play_spot(lesson(), drill)
    assert [chapter.title for chapter in made.chapters] == ["♩ = 30", "♩ = 60"]
    assert made.chapters[1].start_seconds == pytest.approx(0.15 + 8.0 + 2 * 8.0 + 1.2, abs=0.001)
    assert made.samples.peak < 0.9


def test_wrong_spots_and_loops_are_told() -> None:
    with pytest.raises(SoundError, match="events 3 to 9: the route has 0 to 5"):
        lay_out_spot(lesson(), 3, 9, RUNG)
    with pytest.raises(SoundError, match="played 0 times: 1 to 64"):
        Loop(times=0)
    with pytest.raises(SoundError, match="the drill's ladder has no tempo"):
        play_spot(lesson(), Drill(Spot(0, 1, 1.0, ()), 2, ()))


def test_a_ladder_with_the_band_and_its_files() -> None:
    given = lesson(music_key=Key(4))
    whole = play_ladder(given, Backing(form="one-chord", rounds=1))
    assert len(whole.chapters) == 2
    for format in ("wav", "flac"):
        back = decode(encode_recording(whole, format=format, tags={"title": given.title}))
        assert back.frames == whole.samples.frames


def test_names_say_what_the_files_are() -> None:
    rung = Rung("full", 1.0, 96.0)
    names = [
        with_band_name(rung, format="mp3"),
        ladder_name(format="flac"),
        ladder_name(is_with_band=True),
        spot_name(1),
        with_band_name(rung, turns=Turns.CALL),
        ladder_name(turns=Turns.YOURS, format="mp3"),
    ]
    assert names == [
        "with-band-96.mp3", "ladder.flac", "ladder-with-band.wav", "spot-1.wav", "with-band-96-call.wav",
        "ladder-yours.mp3",
    ]  # fmt: skip
