"""Bars are named by their numbers in the source, and from the second time on by the time."""

import pytest

from reedpath.phrase import PrintedBar
from reedpath.wording import bars_words, load_catalogue


@pytest.mark.parametrize(
    ("bars", "english", "french"),
    [
        ([(6, 1)], "bar 6", "mesure 6"),
        ([(6, 2)], "bar 6, 2nd time", "mesure 6, 2e fois"),
        ([(6, 13)], "bar 6, 13th time", "mesure 6, 13e fois"),
        ([(5, 1), (6, 1), (7, 1)], "bars 5 to 7", "mesures 5 à 7"),
        ([(0, 1), (1, 1), (2, 1)], "bars 1 to 2", "mesures 1 à 2"),
        ([(0, 1)], "pickup", "levée"),
        ([(5, 2), (6, 2)], "bars 5 to 6, 2nd time", "mesures 5 à 6, 2e fois"),
        ([(8, 1), (1, 2), (2, 2)], "bar 8 and bars 1 to 2, 2nd time", "mesure 8 et mesures 1 à 2, 2e fois"),
        ([(4, 1), (20, 1), (21, 1)], "bars 4 and 20 to 21", "mesures 4 et 20 à 21"),
        ([(6, 1), (6, 1)], "bar 6", "mesure 6"),
    ],
)
def test_a_stretch_of_bars(bars, english, french):
    printed = [PrintedBar(*bar) for bar in bars]
    assert bars_words(printed, load_catalogue("en")) == english
    assert bars_words(printed, load_catalogue("fr")) == french


def test_bars_one_by_one():
    printed = [PrintedBar(*bar) for bar in ((0, 1), (3, 1), (4, 1), (3, 2), (6, 2))]
    assert bars_words(printed, load_catalogue("en"), singly=True) == "bars 3 and 4 and bars 3 and 6, 2nd time"
