"""Numbers as forms say them: what is read, and what is told of what is no number."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from reedpath.errors import SettingsError
from reedpath.studio.bench_forms import command_of, sound_of
from reedpath.studio.forms import decimal_number, tempo_of, whole_number
from reedpath.wording import load_catalogue


def test_numbers_are_read_with_a_point_or_a_comma() -> None:
    assert (whole_number(" 12 "), decimal_number("-1,5"), tempo_of(" 96.5")) == (12, -1.5, 96.5)


@pytest.mark.parametrize(
    ("read", "wrong", "key"),
    [
        (whole_number, "1.5", "studio.no_number"),
        (decimal_number, "nan", "studio.no_decimal"),
        (decimal_number, "", "studio.no_decimal"),
        (tempo_of, "fast", "studio.no_tempo"),
        (tempo_of, "0", "studio.no_tempo"),
        (tempo_of, "nan", "studio.no_tempo"),
        (tempo_of, "9" * 60, "studio.no_tempo"),
    ],
)
def test_what_is_wanted_is_told_of_what_is_no_such_number(read: Callable[[str], float], wrong: str, key: str) -> None:
    with pytest.raises(SettingsError) as told:
        read(wrong)
    assert (told.value.key, told.value.values) == (key, {"found": wrong[:40]})


def test_a_tempo_of_the_workbench_that_is_none_is_told_as_a_tempo() -> None:
    for ask in (
        lambda: command_of({"do": "choose", "bpm": "slow"}, load_catalogue("en")),
        lambda: sound_of({"bpm": "slow"}, 8),
    ):
        with pytest.raises(SettingsError, match="'slow' is not a tempo") as told:
            ask()
        assert told.value.hint == "write a tempo in beats per minute, such as 96"
