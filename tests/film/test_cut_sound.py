"""The sound of a cut film: of the right length, and joined without a click."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reedpath.film.cut_reader import FADE_SECONDS, RATE, _joined_sound, _PieceSound
from reedpath.film.film_cut import CutKind, CutPiece, CutWhy, FilmCut
from reedpath.signal import Samples, encode

SECONDS = 6.0


@pytest.fixture(scope="module")
def tones(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Two sounds of one loudness: a low tone and a higher one."""
    folder = tmp_path_factory.mktemp("tones")
    time = np.arange(round(SECONDS * RATE)) / RATE
    for name, hz in (("a.wav", 110.0), ("b.wav", 317.0)):
        tone = (0.25 * np.sin(2 * np.pi * hz * time + 1.0)).astype(np.float32)
        (folder / name).write_bytes(encode(Samples(tone[:, np.newaxis], RATE), format="wav"))
    return [folder / "a.wav", folder / "b.wav"]


def joined(tones: list[Path], *pieces: tuple[int, float, float, int | None]) -> np.ndarray:
    kept = tuple(
        CutPiece(film, start, end, CutKind.TALK, keep=True, why=CutWhy.TALK, seen=seen)
        for film, start, end, seen in pieces
    )
    sound = _PieceSound(tones, [True, True])
    try:
        return np.concatenate(list(_joined_sound(sound, FilmCut(("a", "b"), (SECONDS, SECONDS), kept))))
    finally:
        sound.close()


def test_a_cut_is_no_louder_step_than_the_tone_itself(tones: list[Path]) -> None:
    sound = joined(tones, (0, 1.0, 2.003, None), (1, 0.5, 1.5, None), (0, 4.001, 5.0, None), (0, 0.2, 1.0, None))
    steps = np.abs(np.diff(sound[:, 0]))
    own = 0.25 * 2 * np.pi * 317.0 / RATE  # the steepest that the higher tone is
    assert steps.max() < 2.5 * own
    assert len(sound) == round((1.003 + 1.0 + 0.999 + 0.8) * RATE)
    # two sounds that are not alike are as loud together as each, within what phases make of it
    join = round(1.003 * RATE)
    around = sound[join - round(FADE_SECONDS * RATE) : join + round(FADE_SECONDS * RATE), 0]
    assert 0.1 < np.sqrt(np.mean(around**2)) < 0.27


def test_what_goes_on_in_sound_under_another_picture_is_untouched(tones: list[Path]) -> None:
    whole = joined(tones, (0, 1.0, 3.0, None))
    shown = joined(tones, (0, 1.0, 2.0, None), (0, 2.0, 3.0, 1))
    np.testing.assert_array_equal(shown, whole)


def test_sound_keeps_its_place_however_many_cuts_there_are(tones: list[Path]) -> None:
    pieces = [(0, 0.5 + 0.1 * number, 0.5 + 0.1 * number + 0.0333, None) for number in range(40)]
    sound = joined(tones, *pieces)
    assert len(sound) == round(sum(end - start for _, start, end, _ in pieces) * RATE)


def test_a_film_that_ends_before_its_sound_is_silent_there(tones: list[Path]) -> None:
    sound = joined(tones, (0, 5.5, 6.5, None))
    assert len(sound) == RATE
    assert np.abs(sound[round(0.6 * RATE) :]).max() == 0.0


def test_each_film_is_as_loud_as_the_cut_says(tones: list[Path]) -> None:
    plain, raised = _PieceSound(tones, [True, True]), _PieceSound(tones, [True, True], (0.0, -6.0206))
    try:
        for film, times in ((0, 1.0), (1, 0.5)):
            assert np.allclose(raised.of(film, 1000, 2000), times * plain.of(film, 1000, 2000), atol=1e-5)
    finally:
        plain.close()
        raised.close()
