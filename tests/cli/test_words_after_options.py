"""What times and shares mean when they are typed."""

from __future__ import annotations

import pytest

from reedpath.cli.reading import seconds_of, share_of
from reedpath.errors import SettingsError


@pytest.mark.parametrize(
    ("text", "seconds"), [("12.5", 12.5), ("1:02.5", 62.5), ("1:10:00", 4200.0), ("0", 0.0), ("2:03,25", 123.25)]
)
def test_times(text: str, seconds: float) -> None:
    assert seconds_of(text) == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["", "noon", "-3", "1:2:3:4", "nan", "1e9"])
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(SettingsError, match="is no time"):
        seconds_of(text)


@pytest.mark.parametrize(("text", "share"), [("0.5", 0.5), ("50%", 0.5), ("1/3", 1 / 3), ("0,75", 0.75), ("1", 1.0)])
def test_shares(text: str, share: float) -> None:
    assert share_of(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["", "half", "-1", "1/0", "1/2/3", "50%%", "inf"])
def test_what_is_no_share(text: str) -> None:
    with pytest.raises(SettingsError, match="is no share"):
        share_of(text)
