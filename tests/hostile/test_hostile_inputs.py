"""Hostile inputs of every kind, a few anew each way, and all that once were a fault: read, or refused in words.

The long run is bench/fuzz.py's; here the inputs are the same each time, and work is counted in calls, not in seconds.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from fuzzing.feeding import Feeder
from fuzzing.targets import TARGETS, target_of

CORPUS = Path(__file__).resolve().parents[2] / "bench" / "corpus"
KEPT = sorted(path for path in CORPUS.glob("*/*") if path.is_file())
# inputs of each kind; of those whose reading or changing takes long, fewer
INPUTS, FEWER = 60, {"language": 6, "options of commands": 20, "any source": 20, "lesson": 30}


@pytest.mark.slow
@pytest.mark.parametrize("name", [target.name for target in TARGETS])
def test_changed_inputs_are_read_or_refused(name: str) -> None:
    feeder = Feeder(target_of(name), counting=True)
    for number in range(FEWER.get(name, INPUTS)):
        draw = random.Random(f"{name} {number}")
        feeder.feed(feeder.next_input(draw), draw)
    assert {place: told for place, (_, told) in feeder.came.defects.items()} == {}


@pytest.mark.slow
@pytest.mark.parametrize("path", KEPT, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_what_once_was_a_fault_is_read_or_refused(path: Path) -> None:
    feeder = Feeder(target_of(path.parent.name), counting=True)
    for number in range(4):
        feeder.feed_and_follow(path.read_bytes(), random.Random(number))
    assert {place: told for place, (_, told) in feeder.came.defects.items()} == {}
