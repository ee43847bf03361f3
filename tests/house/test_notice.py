"""Who passes reedpath on is told what passes on with it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_every_dependency_is_in_the_notice() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked_for = {re.match(r"[\w.-]+", one)[0] for one in project["dependencies"]}  # type: ignore[index]
    told = {line.split()[0] for line in (ROOT / "NOTICE").read_text(encoding="utf-8").splitlines() if line.strip()}
    assert asked_for <= told
    assert "NOTICE" in project["license-files"]
