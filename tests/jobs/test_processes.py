"""Parts of a job side by side: the same results in one process as in several, and nothing is left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from reedpath.errors import Place, SettingsError, SoundError
from reedpath.jobs.processes import JobPart, SideBySide, others_worth_it, process_count
from support.processes import is_alive


# parts, found by their names from the other process, which looks for modules where this one does
def doubled(common: int, number: int, *, put, report) -> tuple[int, int]:
    put(b"half")
    report(0.5)
    put(b" whole")
    return os.getpid(), common * number


def thread_variables(common: object, *, put, report) -> tuple[int, str | None]:
    return os.getpid(), os.environ.get("OPENBLAS_NUM_THREADS")


def failing(common: int, *, put, report) -> None:
    raise SoundError("sound.metre", where=Place(bar=3), count=5, unit=4)


def faulty(common: int, *, put, report) -> None:
    class Odd(Exception):  # cannot go from one process to another
        pass

    raise Odd("of its own")


def ending(common: int, *, put, report) -> None:
    put(b"something")
    os._exit(9)


def telling(common: str, *, put, report) -> None:
    """Say which process this is, and go on for a long time."""
    Path(common).write_text(str(os.getpid()), encoding="ascii")
    time.sleep(600.0)


def parts_of(tmp_path: Path, *functions, work: float = 100.0) -> list[JobPart]:
    return [JobPart(one, (), tmp_path / f"{index}", work) for index, one in enumerate(functions)]


@pytest.mark.parametrize("count", [1, 2, 3])
def test_results_and_files_are_the_same_however_many_processes(tmp_path, count):
    parts = [JobPart(doubled, (number,), tmp_path / f"{number}", 100.0 + number) for number in range(4)]
    told: list[int] = []
    with SideBySide(3, parts, count=count) as work:
        made = dict(work.results(told.append))
        assert work.done_work == sum(part.work for part in parts)
    assert {index: result for index, (_, result) in made.items()} == {0: 0, 1: 3, 2: 6, 3: 9}
    assert set(told) == {0, 1, 2, 3}
    assert [part.file.read_bytes() for part in parts] == [b"half whole"] * 4
    others = {process for process, _ in made.values()} - {os.getpid()}
    assert (count > 1) == bool(others)


def test_a_process_beside_does_its_arithmetic_in_one_thread(tmp_path):
    with SideBySide(None, parts_of(tmp_path, thread_variables), beside=500.0, count=2) as work:
        [(_, (process, threads))] = waited(work)
    assert process != os.getpid()
    assert threads == "1"


@pytest.mark.parametrize("count", [1, 2])
def test_what_a_part_raises_is_raised_where_its_results_are_awaited(tmp_path, count):
    # the second of two is done here, the other one apart
    with SideBySide(3, parts_of(tmp_path, failing, failing), count=count) as work, pytest.raises(SoundError) as found:
        list(work.results())
    assert str(found.value) == "bar 3: the band plays in 4/4, 2/2 and 12/8, not in 5/4"


def waited(work: SideBySide) -> list:
    """Results of parts that all are done apart: this process takes none before the others have taken them."""
    while work._progress.waiting:
        time.sleep(0.01)
    return list(work.results())


def test_where_no_process_can_begin_this_one_does_all(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "nothing"))
    parts = [JobPart(doubled, (number,), tmp_path / f"{number}", 100.0) for number in range(3)]
    with SideBySide(2, parts, count=3) as made:
        results = dict(made.results())
    assert results == {number: (os.getpid(), 2 * number) for number in range(3)}


def test_an_error_that_cannot_travel_says_what_it_was(tmp_path):
    apart = SideBySide(3, parts_of(tmp_path, faulty), beside=500.0, count=2)
    with apart as work, pytest.raises(RuntimeError, match="Odd: of its own"):
        waited(work)


def test_a_process_that_ends_by_itself_is_told(tmp_path):
    apart = SideBySide(3, parts_of(tmp_path, ending), beside=500.0, count=2)
    with apart as work, pytest.raises(SettingsError, match="ended before it was done"):
        waited(work)


def test_a_file_that_cannot_be_written_is_told(tmp_path):
    parts = [JobPart(doubled, (1,), tmp_path / "nowhere" / "file", 100.0)]
    with SideBySide(3, parts, beside=500.0, count=2) as work, pytest.raises(FileNotFoundError):
        waited(work)


def number_in(path: Path) -> int:
    while not (path.exists() and path.read_text(encoding="ascii")):
        time.sleep(0.02)
    return int(path.read_text(encoding="ascii"))


def test_leaving_ends_what_is_at_work(tmp_path):
    apart = SideBySide(str(tmp_path / "pid"), parts_of(tmp_path, telling), beside=500.0, count=2)
    with suppress(KeyboardInterrupt), apart:
        process = number_in(tmp_path / "pid")
        raise KeyboardInterrupt
    assert not is_alive(process)


# a program that was started in the background by a shell may find Ctrl-C switched off
PROGRAM = """
import signal, sys
from pathlib import Path
from reedpath.jobs.processes import SideBySide
from test_processes import parts_of, telling, waited
if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with SideBySide(sys.argv[1], parts_of(Path(sys.argv[2]), telling), beside=500.0, count=2) as work:
        waited(work)
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGINT])
def test_no_process_outlives_the_program_however_it_is_stopped(tmp_path, number):
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(str(one) for one in (Path(__file__).parent, *sys.path))}
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "pid"), str(tmp_path)]
    with subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL) as program:
        process = number_in(tmp_path / "pid")
        program.send_signal(number)
        program.wait()
    while is_alive(process):  # it is told by the system, a moment later
        time.sleep(0.02)


@pytest.mark.parametrize(
    ("works", "beside", "count", "others"),
    [
        ([20.0, 20.0], 0.0, 1, 0),  # one processor
        ([20.0, 20.0], 0.0, 2, 1),
        ([20.0, 20.0, 20.0, 20.0], 10.0, 4, 3),
        ([20.0], 0.0, 4, 0),  # nothing to do meanwhile
        ([20.0], 20.0, 4, 1),
        ([0.1, 0.1, 0.1], 0.2, 4, 0),  # to start another takes longer
        ([0.5, 0.5], 0.5, 2, 0),  # nothing that is felt is spared
        ([], 3.0, 4, 0),
    ],
)
def test_another_process_is_started_where_it_ends_the_job_sooner(works, beside, count, others):
    assert others_worth_it(works, beside, count) == others


def test_the_user_may_say_how_many_processes(monkeypatch):
    monkeypatch.setenv("REEDPATH_PROCESSES", "3")
    assert process_count() == 3
    monkeypatch.delenv("REEDPATH_PROCESSES")
    assert process_count() >= 1
    for wrong in ("0", "many", "-1", "9999", "²"):
        monkeypatch.setenv("REEDPATH_PROCESSES", wrong)
        with pytest.raises(SettingsError, match="from 1 to 64"):
            process_count()


def test_where_no_other_process_can_be_started_this_one_does_all(tmp_path, monkeypatch):
    def refused(*_: object, **__: object) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr("reedpath.jobs.processes.subprocess.Popen", refused)
    parts = [JobPart(doubled, (number,), tmp_path / f"{number}", 100.0) for number in range(3)]
    with SideBySide(3, parts, count=4) as work:
        assert dict(work.results()) == {number: (os.getpid(), 3 * number) for number in range(3)}
