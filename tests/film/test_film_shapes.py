"""Films of several shapes in one cut: what is shown how large, when, and with which sound."""

from __future__ import annotations

import wave
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.errors import FilmError
from reedpath.film import CutKind, CutPiece, CutWhy, FilmClock, FilmCut, footage_facts, picture_rates
from reedpath.film.cut_reader import CutFilm
from reedpath.film.film_reader import Picture
from reedpath.film.planes import planes_in
from support.teacher_films import RATE, FilmMade, write_film

# seconds of each film; a click in each second, and where the bar of a film's pictures is wide
SECONDS = 3.0
WIDE, TALL = FilmMade(size=(160, 90), fps=20), FilmMade(size=(90, 160), fps=30)


def clicks() -> np.ndarray:
    sound = np.zeros((round(SECONDS * RATE), 2), dtype=np.float32)
    for second in range(int(SECONDS)):
        sound[round((second + 0.5) * RATE) :][:40] = 0.8
    return sound


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path]:
    folder = tmp_path_factory.mktemp("shapes")
    paths = (folder / "wide.mp4", folder / "tall.mp4", folder / "recorder.wav")
    write_film(paths[0], clicks(), WIDE)
    write_film(paths[1], clicks(), TALL)
    with wave.open(str(paths[2]), "wb") as file:
        file.setparams((2, 2, RATE, 0, "NONE", ""))
        file.writeframes((clicks() * 32767).astype("<i2").tobytes())
    return paths


def stretch(film: int, start: float, end: float, seen: int | None = None) -> CutPiece:
    return CutPiece(film, start, end, CutKind.TALK, keep=True, why=CutWhy.TALK, seen=seen)


def cut_of(films: tuple[Path, ...], *pieces: CutPiece, clocks: tuple[FilmClock, ...] = ()) -> FilmCut:
    return FilmCut(tuple(one.name for one in films), (SECONDS,) * len(films), pieces, clocks)


def read(films: tuple[Path, ...], cut: FilmCut) -> tuple[tuple[int, int], list[tuple[float, np.ndarray]], np.ndarray]:
    """Size of the frame, its pictures' light with their times, and the sound of one side."""
    with CutFilm(films, cut) as film:
        size = (film.facts.width, film.facts.height)
        parts = list(film.read(*size))
    pictures = [(one.seconds, planes_in(one.shown)[0].copy()) for one in parts if isinstance(one, Picture)]
    sound = np.concatenate([one.packet.to_ndarray()[0] for one in parts if not isinstance(one, Picture)])
    return size, pictures, sound


def bar_at(light: np.ndarray) -> float:
    """Where the bright bar of a film's pictures stands, a share of the width."""
    row = light[light.shape[0] * 3 // 4].astype(float)
    return float(np.flatnonzero(row > 215).mean()) / len(row)


def test_an_upright_film_stands_whole_in_a_wide_frame_at_its_time(films: tuple[Path, Path, Path]) -> None:
    cut = cut_of(films, stretch(0, 0.0, 2.0), stretch(1, 1.0, 2.0), stretch(0, 2.0, 3.0))
    size, pictures, sound = read(films, cut)
    assert size == WIDE.size
    assert pictures[-1][0] == pytest.approx(4.0 - 1 / WIDE.fps, abs=0.01)
    across = round(WIDE.size[1] * TALL.size[0] / TALL.size[1] / 2) * 2
    left = (WIDE.size[0] - across) // 4 * 2
    for seconds, light in pictures:
        if not 2.0 <= seconds < 3.0 - 1e-6:
            assert light[:, :20].mean() > 60
            continue
        assert np.abs(light[:, : left - 2].astype(int) - 16).max() < 2
        assert np.abs(light[:, left + across + 2 :].astype(int) - 16).max() < 2
        inside = light[:, left : left + across]
        assert inside.mean() > 60
        # the bar tells which picture it is: within one of its film
        number = round((seconds - 1.0) * TALL.fps)
        due = [(one * 4 % (TALL.size[0] - 20) + 9.5) / TALL.size[0] for one in (number - 1, number, number + 1)]
        assert min(abs(bar_at(inside) - one) for one in due) < 0.03
    clicked = np.flatnonzero(np.abs(sound) > 0.3) / 48_000
    for due in (0.5, 1.5, 2.5, 3.5):
        assert np.abs(clicked - due).min() < 1 / TALL.fps


def test_the_shape_that_is_shown_longest_is_the_frames(films: tuple[Path, Path, Path]) -> None:
    cut = cut_of(films, stretch(0, 0.0, 1.0), stretch(1, 0.0, 3.0))
    with CutFilm(films, cut) as film:
        assert (film.facts.width, film.facts.height) == TALL.size


def test_sound_alone_is_seen_by_the_camera_that_ran_beside_it_and_is_black_without(
    films: tuple[Path, Path, Path],
) -> None:
    cut = cut_of(films, stretch(2, 0.0, 1.0, seen=0), stretch(2, 1.0, 2.0), clocks=(FilmClock(2, 0, 0.0),))
    _, pictures, sound = read(films, cut)
    assert all((light.mean() > 60) == (seconds < 1.0 - 1e-6) for seconds, light in pictures)
    assert len(pictures) == 2 * WIDE.fps
    clicked = np.flatnonzero(np.abs(sound) > 0.3) / 48_000
    assert clicked.min() == pytest.approx(0.5, abs=1 / WIDE.fps)


def test_sound_alone_has_no_pictures(films: tuple[Path, Path, Path], tmp_path: Path) -> None:
    facts = footage_facts(films[2])
    assert not facts.has_pictures
    assert facts.seconds == pytest.approx(SECONDS, abs=0.01)
    assert picture_rates([facts, footage_facts(films[1])]) == [TALL.fps, TALL.fps]
    with pytest.raises(FilmError) as told:
        picture_rates([facts])
    assert told.value.key == "film.no_pictures"
    with pytest.raises(FilmError) as told:
        CutFilm(films[2:], cut_of(films[2:], stretch(0, 0.0, 1.0)))
    assert told.value.key == "film.no_pictures"
    with av.open(str(tmp_path / "none.mkv"), "w") as none:
        none.add_stream("srt")
    with pytest.raises(FilmError):
        footage_facts(tmp_path / "none.mkv")
