"""A plugin of pytest that records which tests execute which lines: ``pytest -p reached_lines``.

The file that REACH_DATA names holds the lines, recorded by coverage.py (https://coverage.readthedocs.io), each with
its tests as contexts; what each test took, in seconds, stands in the file of that name with ``.json`` behind it.
Lines that run in a process of their own are not seen.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

DATA = os.environ.get("REACH_DATA", "")
_measuring = coverage.Coverage(data_file=DATA, config_file=False, source_pkgs=["reedpath"])
_seconds: dict[str, float] = defaultdict(float)


def pytest_sessionstart() -> None:
    """Start before any module of the package is imported by a test."""
    _measuring.start()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """What runs from here on runs for this test."""
    _measuring.switch_context(item.nodeid)
    return (yield)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Add what setting up, the test and clearing away took."""
    _seconds[report.nodeid] += report.duration


def pytest_sessionfinish() -> None:
    """Write both files."""
    _measuring.stop()
    _measuring.save()
    Path(f"{DATA}.json").write_text(json.dumps(_seconds), encoding="utf-8")
