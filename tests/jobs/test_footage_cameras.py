"""Which of several cameras that filmed together is heard."""

from __future__ import annotations

from reedpath.jobs.footage_hearing import by_hearing


def test_the_first_named_is_heard_where_another_hears_a_hair_better() -> None:
    assert by_hearing([40.9, 41.1], [0, 0]) == [0, 1]
    assert by_hearing([40.0, 45.0], [0, 0]) == [1, 0]


def test_of_those_that_hear_as_well_as_the_best_the_first_stands_first() -> None:
    assert by_hearing([38.5, 40.0, 42.0, 39.5], [0, 0, 0, 0]) == [1, 2, 3, 0]


def test_a_film_of_its_own_takes_no_place_of_another() -> None:
    order = by_hearing([30.0, 60.0, 35.0], [0, 1, 0])
    assert order.index(2) < order.index(0)
