"""Records whose times and names are the same each time, so that all that is kept of them can be compared."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from reedpath.shelf import journal, store

# the time at which all begins, and by how much later each record is added
NOW, STEP = datetime(2026, 3, 2, 9, 0, tzinfo=UTC), timedelta(hours=20)


def fix_records(monkeypatch: pytest.MonkeyPatch, *, first: int = 1) -> None:
    """Let the clock of the shelf go on by a step each time it is asked, and number new records from the first on."""
    asked, numbers = itertools.count(1), itertools.count(first)

    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return NOW + STEP * next(asked)

    monkeypatch.setattr(journal, "datetime", Clock)
    monkeypatch.setattr(store.secrets, "token_hex", lambda size: f"{next(numbers):0{2 * size}x}")
