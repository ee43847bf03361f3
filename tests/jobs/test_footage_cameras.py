"""Which of several cameras that filmed together is heard."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from reedpath.film import FilmClock
from reedpath.hear import HOP_SECONDS, SoundCourse
from reedpath.jobs.footage_hearing import _Film, _from, _spans, by_hearing


def heard(seconds: float, *talk: tuple[float, float], quiet_db: float = -60.0) -> _Film:
    """A film in which somebody talks, over noise so loud."""
    said = np.zeros(round(seconds / HOP_SECONDS), dtype=bool)
    for start, end in talk:
        said[round(start / HOP_SECONDS) : round(end / HOP_SECONDS)] = True
    level = np.where(said, -20.0, quiet_db).astype(np.float32)
    return _Film(
        Path("film.mp4"),
        SimpleNamespace(seconds=seconds),
        None,
        SoundCourse(level, said, np.zeros_like(said), np.zeros_like(said)),
    )  # type: ignore[arg-type]


# talk from second 1 to 7 and from 9 to 12; the second film, which hears better, was begun at second 5
TALK = ((1.0, 7.0), (9.0, 12.0))


def begun_later(at: float, *talk: tuple[float, float]) -> list[list[tuple[float, float]]]:
    later = tuple((max(0.0, start - at), end - at) for start, end in talk if end > at)
    films = [heard(20.0, *talk, quiet_db=-40.0), heard(20.0 - at, *later)]
    return _spans(films, [FilmClock(1, 0, at)])


def test_the_sound_does_not_change_in_the_middle_of_a_sentence() -> None:
    (first,), (second,) = begun_later(5.0, *TALK)
    assert first == pytest.approx((0.0, 8.0))
    assert second == pytest.approx((3.0, 15.0))


def test_a_camera_begun_in_a_pause_is_heard_from_its_start() -> None:
    assert begun_later(8.0, *TALK) == [[(0.0, 8.0)], [(0.0, 12.0)]]


def test_where_nothing_follows_the_sound_changes_after_the_last_sentence() -> None:
    assert begun_later(5.0, (1.0, 14.0)) == [[pytest.approx((0.0, 17.0))], [pytest.approx((12.0, 15.0))]]


def test_where_no_pause_comes_a_film_is_heard_from_its_start() -> None:
    assert _from(heard(15.0, (0.0, 14.9))) == 0.0
    assert _from(heard(15.0)) == 0.0


def test_the_first_named_is_heard_where_another_hears_a_hair_better() -> None:
    assert by_hearing([40.9, 41.1], [0, 0]) == [0, 1]
    assert by_hearing([40.0, 45.0], [0, 0]) == [1, 0]


def test_of_those_that_hear_as_well_as_the_best_the_first_stands_first() -> None:
    assert by_hearing([38.5, 40.0, 42.0, 39.5], [0, 0, 0, 0]) == [1, 2, 3, 0]


def test_a_film_of_its_own_takes_no_place_of_another() -> None:
    order = by_hearing([30.0, 60.0, 35.0], [0, 1, 0])
    assert order.index(2) < order.index(0)
