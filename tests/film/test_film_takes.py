"""The teacher's own film: the strip in time, every picture at its time, the sound untouched."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.errors import FilmError
from reedpath.film import TakeWishes, film_overlay, film_takes, overlay_format, overlay_kinds, takes_format
from reedpath.film.film_reader import Picture, TeacherFilm
from reedpath.film.screens import load_screen
from reedpath.lesson import make_lesson
from reedpath.signal import Samples, encode
from support.built_routes import built_route
from support.teacher_films import MadeFilm, teacher_film

pytestmark = pytest.mark.slow

LESSON = make_lesson(built_route("2d:1 4b:1 r:1/2 3d':1", bpm=150.0))


def _packets(path: Path) -> tuple[list[bytes], list[float]]:
    """The sound's packets and their times, seconds."""
    with av.open(str(path)) as film:
        stream = film.streams.audio[0]
        packets = [packet for packet in film.demux(stream) if packet.dts is not None]
        return [bytes(packet) for packet in packets], [float(packet.pts * stream.time_base) for packet in packets]


def _pictures(path: Path) -> tuple[list[float], list[np.ndarray]]:
    with av.open(str(path)) as film:
        frames = [(float(frame.pts * frame.time_base), frame.to_ndarray()) for frame in film.decode(video=0)]
    return [time for time, _ in frames], [array for _, array in frames]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> MadeFilm:
    return teacher_film(tmp_path_factory.mktemp("film") / "lesson.mp4", LESSON)


@pytest.mark.parametrize("wishes", [TakeWishes(), TakeWishes("beside"), TakeWishes("beside", "upright")])
def test_sound_is_untouched_and_pictures_keep_their_times(
    tmp_path: Path, plain: MadeFilm, wishes: TakeWishes
) -> None:
    path = tmp_path / "out.mp4"
    film_takes(plain.path, LESSON, plain.plays, path, wishes)
    assert _packets(path)[0] == _packets(plain.path)[0]
    assert _packets(path)[1] == pytest.approx(_packets(plain.path)[1], abs=1e-6)
    assert _pictures(path)[0] == pytest.approx(_pictures(plain.path)[0], abs=1e-6)


@pytest.mark.parametrize(
    ("codec", "suffix", "format"),
    [("aac", "mp4", "mp4"), ("pcm_s16le", "mov", "mov"), ("pcm_u8", "mkv", "matroska"), ("aac", "mkv", "mp4")],
)
def test_any_sound_is_passed_on(tmp_path: Path, codec: str, suffix: str, format: str) -> None:
    film = teacher_film(tmp_path / f"in.{suffix}", LESSON, sound=codec)
    assert takes_format(film.path) == format
    path = tmp_path / "out.film"
    film_takes(film.path, LESSON, film.plays, path)
    assert _packets(path)[0] == _packets(film.path)[0]
    assert _packets(path)[1] == pytest.approx(_packets(film.path)[1], abs=1.1e-3)


def test_a_silent_film(tmp_path: Path) -> None:
    film = teacher_film(tmp_path / "in.mp4", LESSON, sound=None)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4")
    with av.open(str(tmp_path / "out.mp4")) as made:
        assert not made.streams.audio


def test_uneven_pictures_keep_their_times(tmp_path: Path) -> None:
    film = teacher_film(tmp_path / "in.mp4", LESSON, uneven=True)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4")
    before, after = _pictures(film.path)[0], _pictures(tmp_path / "out.mp4")[0]
    assert len(set(np.round(np.diff(before), 3))) > 1
    assert after == pytest.approx(before, abs=1e-6)


def test_a_turned_film_is_shown_upright(tmp_path: Path) -> None:
    """Turned a quarter to the right, the dark lower edge of the picture comes to the left."""
    film = teacher_film(tmp_path / "in.mp4", LESSON, turned=-90)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4")
    _, pictures = _pictures(tmp_path / "out.mp4")
    first = pictures[0][:640]
    assert first.shape == (640, 360)
    upper = first[:300]  # above the plate
    assert upper[:, :40].mean() < 110 < 170 < upper[:, -40:].mean()


@pytest.mark.parametrize(("frame", "size"), [("landscape", (1280, 720)), ("upright", (720, 1280))])
def test_an_upright_film_stands_in_the_frame_that_is_asked_for(
    tmp_path: Path, frame: str, size: tuple[int, int]
) -> None:
    """Beside the film's picture, whole and not squeezed: its bar goes all the way down its zone."""
    film = teacher_film(tmp_path / "in.mp4", LESSON, size=(180, 320), fps=10)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4", TakeWishes("beside", frame))
    with av.open(str(tmp_path / "out.mp4")) as made:
        stream = made.streams.video[0]
        assert (stream.width, stream.height) == size
        light = next(made.decode(stream)).to_ndarray()[: size[1]]
    zone = load_screen("beside-upright-tall" if frame == "upright" else "beside-tall").picture
    assert zone is not None
    shown = light[zone.top : zone.bottom, zone.left : zone.right].astype(int)
    lit = np.argwhere(shown > 60)
    tall, wide = np.ptp(lit, axis=0) + 1
    assert tall / wide == pytest.approx(320 / 180, rel=0.02)
    assert max(tall / zone.height, wide / zone.width) > 0.98


def test_a_film_on_its_head_is_turned(tmp_path: Path) -> None:
    film = teacher_film(tmp_path / "in.mp4", LESSON, turned=180)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4")
    _, pictures = _pictures(tmp_path / "out.mp4")
    first = pictures[0][:360]
    assert first[:20].mean() < 110 < 140 < first[200:220].mean()


@pytest.mark.parametrize(("wide", "shown"), [(True, (231, 20)), (False, (230, 30))])
def test_pictures_come_in_the_narrow_range(tmp_path: Path, wide: bool, shown: tuple[int, int]) -> None:
    """As ITU-T H.273 has it: 0 to 255 become 16 to 235; what is narrow already is left as it is."""
    path = tmp_path / "in.mp4"
    bright, dark = (250, 5) if wide else (230, 30)
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=30, options={"crf": "4"})
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuvj420p" if wide else "yuv420p"
        for number in range(5):
            array = np.full((360, 320), 128, dtype=np.uint8)
            array[:240, :160], array[:240, 160:] = bright, dark
            frame = av.VideoFrame.from_ndarray(array, format=stream.pix_fmt)
            frame.pts, frame.time_base = number, Fraction(1, 30)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
    with TeacherFilm(path) as teacher:
        one = next(one for one in teacher.read(320, 240) if isinstance(one, Picture))
        light = one.planes().light
    assert (light[100, 50], light[100, 250]) == pytest.approx(shown, abs=1)


def test_a_camera_s_pictures_are_kept_as_good_as_they_were(tmp_path: Path) -> None:
    """40 dB of peak signal to noise, past which two pictures look the same (common practice, no source)."""
    film = teacher_film(tmp_path / "in.mp4", LESSON, grainy=True)
    film_takes(film.path, LESSON, film.plays, tmp_path / "out.mp4")
    plate = load_screen("over-landscape").fitted(640, 360).plate
    assert plate is not None
    _, before = _pictures(film.path)
    _, after = _pictures(tmp_path / "out.mp4")
    for old, new in zip(before[::10], after[::10], strict=True):
        apart = old[: plate.top].astype(float) - new[: plate.top].astype(float)
        assert 10 * np.log10(255**2 / np.mean(apart**2)) > 40
        # nor is it grown far beyond what a camera writes
    assert (tmp_path / "out.mp4").stat().st_size < 4 * film.path.stat().st_size


def test_over_the_film_only_the_plate_is_changed_and_only_while_it_is_played(tmp_path: Path, plain: MadeFilm) -> None:
    path = tmp_path / "out.mp4"
    timeline = film_takes(plain.path, LESSON, plain.plays, path)
    times, before = _pictures(plain.path)
    _, after = _pictures(path)
    plate = load_screen("over-landscape").fitted(640, 360).plate
    assert plate is not None
    for time, old, new in zip(times, before, after, strict=True):
        apart = np.abs(old[:360].astype(int) - new[:360].astype(int))
        assert apart[: plate.top].mean() < 3
        covered = apart[plate.top :].mean() > 20
        assert covered == (timeline.scene_at(time) is not None)


def test_the_lit_hole_of_the_strip_follows_the_playing(tmp_path: Path, plain: MadeFilm) -> None:
    path = tmp_path / "out.mp4"
    timeline = film_takes(plain.path, LESSON, plain.plays, path, TakeWishes("beside", "upright"))
    harp = load_screen("beside-upright").harp
    assert harp is not None
    times, pictures = _pictures(path)
    harps = np.array([picture[harp.top : harp.bottom, harp.left : harp.right] for picture in pictures]).astype(int)
    lit = np.abs(harps - harps[0]).mean(axis=(1, 2)) > 2
    for scene in timeline.scenes:
        first = scene.highlights[0].start_seconds
        place = next(index for index, time in enumerate(times) if time > first - 0.2 and lit[index])
        assert times[place] == pytest.approx(first, abs=1 / 30)


@pytest.mark.parametrize("kind", overlay_kinds())
def test_the_strip_alone_is_as_long_and_as_large_as_the_film(tmp_path: Path, kind: str) -> None:
    small = teacher_film(tmp_path / "in.mp4", LESSON, size=(320, 180), fps=15)
    path = tmp_path / f"strip.{overlay_format(kind)}"
    timeline = film_overlay(small.path, LESSON, small.plays, path, kind=kind)
    decoder = av.CodecContext.create("libvpx-vp9", "r") if kind == "vp9" else None
    times, opacities = [], []
    with av.open(str(path)) as film:
        stream = film.streams.video[0]
        for packet in film.demux(stream):
            for frame in decoder.decode(packet) if decoder else packet.decode():
                times.append(float(frame.pts * stream.time_base))
                opacities.append(frame.reformat(format="rgba").to_ndarray()[..., 3])
    assert len(times) == pytest.approx(small.seconds * 15, abs=1)
    assert times == pytest.approx(np.arange(len(times)) / 15, abs=2e-3)
    plate = load_screen("over-landscape").fitted(320, 180).plate
    assert plate is not None
    for time, opacity in zip(times, opacities, strict=True):
        assert opacity.shape == (180, 320)
        assert opacity[: plate.top - 2].max() <= 8
        playing = timeline.scene_at(time + 1 / 30) is not None
        assert (np.median(opacity[plate.top + 2 :]) > 190) == playing


def test_interruption_leaves_no_file(tmp_path: Path, plain: MadeFilm) -> None:
    def interrupt(done: int, total: int) -> None:
        if done == 20:
            raise KeyboardInterrupt

    for make in (film_takes, film_overlay):
        with pytest.raises(KeyboardInterrupt):
            make(plain.path, LESSON, plain.plays, tmp_path / "out.mp4", progress=interrupt)  # type: ignore[operator]
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_film(tmp_path: Path, plain: MadeFilm) -> None:
    text = tmp_path / "film.mp4"
    text.write_text("this is no film")
    with pytest.raises(FilmError, match=r"film\.mp4: this film cannot be read"):
        film_takes(text, LESSON, plain.plays, tmp_path / "out.mp4")
    with pytest.raises(FilmError, match=r"none\.mp4: this film cannot be read"):
        takes_format(tmp_path / "none.mp4")
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(plain.path.read_bytes()[:5000])
    with pytest.raises(FilmError, match=r"cut\.mp4"):
        film_takes(cut, LESSON, plain.plays, tmp_path / "out.mp4")
    sound = tmp_path / "sound.wav"
    sound.write_bytes(encode(Samples(np.zeros((44_100, 1), dtype=np.float32), 44_100)))
    with pytest.raises(FilmError, match="there are no pictures in this file"):
        takes_format(sound)
    assert not (tmp_path / "out.mp4").exists()


def test_wishes_that_cannot_be(tmp_path: Path, plain: MadeFilm) -> None:
    with pytest.raises(FilmError, match="there is no place named 'under'"):
        TakeWishes("under")
    with pytest.raises(FilmError, match="there is no frame named 'round'"):
        TakeWishes("beside", "round")
    with pytest.raises(FilmError, match="there is no transparent film named 'gif'"):
        overlay_format("gif")
    with pytest.raises(FilmError, match="no play-through"):
        film_takes(plain.path, LESSON, [], tmp_path / "out.mp4")
