"""A sound that is gone through twice is made once, and again where there is no room for it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from reedpath.signal import Samples, SoundAside, put_aside

RATE = 8_000
MADE: list[int] = []


def made() -> Iterator[Samples]:
    MADE.append(1)
    random = np.random.default_rng(5)
    for frames in (3_000, 1, 70_000):
        yield Samples(random.standard_normal((frames, 2)).astype(np.float32), RATE)


def as_bytes(blocks: Iterator[Samples]) -> list[tuple[int, bytes]]:
    return [(block.rate, block.array.tobytes()) for block in blocks]


@pytest.fixture(autouse=True)
def _fresh(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    MADE.clear()
    monkeypatch.setattr(put_aside, "ON_DISK", str(tmp_path))
    monkeypatch.delenv("TMPDIR", raising=False)


def test_it_is_made_once_and_the_same_to_the_last_bit(tmp_path: Path) -> None:
    whole = as_bytes(made())
    MADE.clear()
    with SoundAside(made) as aside:
        for _ in range(3):
            assert as_bytes(aside()) == whole
        assert list(tmp_path.iterdir()) == []
    assert len(MADE) == 1


def test_what_was_not_gone_through_to_its_end_is_made_again() -> None:
    with SoundAside(made) as aside:
        first = next(aside())
        assert as_bytes(aside())[0] == as_bytes(iter([first]))[0]
        assert len(as_bytes(aside())) == 3
    assert len(MADE) == 2


@pytest.mark.parametrize("fails", ["write", "flush"])
def test_where_there_is_no_room_it_is_made_again(monkeypatch: pytest.MonkeyPatch, fails: str) -> None:
    class Full:
        def write(self, data: object) -> None:
            if fails == "write":
                raise OSError(28, "no space")

        def flush(self) -> None:
            raise OSError(28, "no space")

        def close(self) -> None:
            raise OSError(28, "no space")

    monkeypatch.setattr(put_aside.tempfile, "TemporaryFile", lambda **_: Full())
    with SoundAside(made) as aside:
        assert as_bytes(aside()) == as_bytes(aside())
    assert len(MADE) == 2


def test_where_no_file_may_be_made_it_is_made_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(put_aside, "ON_DISK", str(tmp_path / "not there"))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "nor there"))
    monkeypatch.setattr(put_aside.tempfile, "tempdir", str(tmp_path / "nor there"))
    with SoundAside(made) as aside:
        assert as_bytes(aside()) == as_bytes(aside())
    assert len(MADE) == 2
