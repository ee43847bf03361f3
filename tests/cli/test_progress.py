"""What is shown of a job at work: the step, and how long the rest takes once that can be told."""

from __future__ import annotations

import io
from types import SimpleNamespace

import pytest

from reedpath.cli.printing import progress_display
from reedpath.jobs import ProgressStep, seconds_left
from reedpath.wording import load_catalogue


class WatchedTerminal(io.StringIO):
    """A terminal, and a clock that goes on when told."""

    now = 100.0

    def isatty(self) -> bool:
        return True

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> WatchedTerminal:
    made = WatchedTerminal()
    monkeypatch.setattr("reedpath.cli.printing.time", made)
    # not sys.stderr itself, which pytest puts back before the test begins
    monkeypatch.setattr("reedpath.cli.printing.sys", SimpleNamespace(stderr=made))
    monkeypatch.setenv("COLUMNS", "100")
    return made


def _shown(terminal: WatchedTerminal, seconds: float, *, language: str = "en") -> str:
    with progress_display(load_catalogue(language)) as progress:
        progress(ProgressStep("tab", 0, 4, share=0.0))
        terminal.now += seconds
        progress(ProgressStep("page", 2, 4, share=0.25))
        return terminal.getvalue()


def test_the_time_to_come_is_named_in_seconds_or_minutes(terminal):
    assert _shown(terminal, 10.0).endswith("(about 30 s left)")
    assert _shown(terminal, 60.0).endswith("(about 3 min left)")
    assert _shown(terminal, 10.0, language="fr").endswith("(encore 30 s environ)")


def test_what_cannot_be_told_yet_is_not_named(terminal):
    assert "left" not in _shown(terminal, 1.0)
    assert seconds_left(0.01, 60.0) is None
    with progress_display(load_catalogue("en")) as progress:
        progress(ProgressStep("film", 1, 4))
        terminal.now += 60.0
        progress(ProgressStep("film", 2, 4))
    assert "left" not in terminal.getvalue()


def test_the_bar_of_a_job_that_is_not_counted_fills_by_its_share(terminal):
    with progress_display(load_catalogue("en")) as progress:
        for share in (0.0, 0.5):
            progress(ProgressStep("listening", 0, 1, share=share))
        assert terminal.getvalue().endswith(f"[{'#' * 12}{'-' * 12}] Listening to the film")
