"""A week of takes sent to a cluster of two workers, one of which is killed while it answers."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from support.clusters import two_workers
from support.glued_takes import Fault, Kind
from support.students import TUNES, take_file, tune_folder

pytestmark = [
    pytest.mark.story,
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX"),
    pytest.mark.filterwarnings("default"),  # the library's own, of sockets that it closes late
]

NAMES = ("Ada", "Bo", "Cy", "Dee", "Eli")


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with two_workers() as made:
        yield made


@pytest.fixture(scope="module")
def week(tmp_path_factory) -> Path:
    """Two lessons, and a take of one of them by each student."""
    root = tmp_path_factory.mktemp("week")
    (root / "takes").mkdir()
    for number, title in enumerate(TUNES):
        tune_folder(title, root / "lessons" / str(number))
    for number, name in enumerate(NAMES):
        fault = Fault(Kind.MISSING, 3 + number)
        take_file(root / "takes" / f"{name} 2026-11-24.wav", list(TUNES)[number % 2], [fault], seed=number)
    return root


def answers_in(folder: Path) -> list[Path]:
    return sorted(folder.glob("*/answer.json"))


def killed_at_work(cluster: Any, folder: Path, killed: list[tuple[int, int]], over: threading.Event) -> None:
    """Kill a worker at work once the first answer is written; note how many there are then, and its process."""
    import distributed

    with distributed.Client(cluster.scheduler_address) as client:
        processes = client.run(os.getpid)
    while not over.is_set():
        busy = [one.address for one in list(cluster.scheduler.workers.values()) if one.processing]
        if busy and answers_in(folder):
            os.kill(processes[busy[0]], signal.SIGKILL)
            killed.append((len(answers_in(folder)), processes[busy[0]]))
            return
        time.sleep(0.01)


def test_a_worker_killed_in_the_middle_loses_no_take_and_none_is_answered_twice(
    run, week, cluster, monkeypatch
) -> None:
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    monkeypatch.chdir(week)
    command = ("listen", "takes", "--lesson", "lessons", "--language", "en", "--json")
    killed: list[tuple[int, int]] = []
    over = threading.Event()
    watching = threading.Thread(target=killed_at_work, args=(cluster, week / "by-cluster", killed, over))
    watching.start()
    try:
        status, out, err = run(*command, "--out", "by-cluster", "--cluster", cluster.scheduler_address)
    finally:
        over.set()
        watching.join()
    assert (status, err) == (0, "")
    [(before, process)] = killed
    assert 1 <= before < len(NAMES)
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)
    told = json.loads(out)
    assert [one["student"] for one in told["takes"]] == list(NAMES)
    assert all(one["is_new"] for one in told["takes"])

    assert run(*command, "--out", "by-itself")[0] == 0
    there, here = (
        {one.parent.name: one.read_bytes() for one in answers_in(week / name)} for name in ("by-cluster", "by-itself")
    )
    assert there == here
    assert len(there) == len(NAMES)
