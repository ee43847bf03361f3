"""Many tasks of one kind: each has one answer, whatever becomes of the processes that are at work on them."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from reedpath.errors import ReadError, SettingsError
from reedpath.jobs.task_pool import ClusterPool, LocalPool, TaskAnswer, pool_at, run_tasks
from support.processes import is_alive

# seconds that a task is said to take: so long that other processes are worth it
LONG = 100.0


# tasks, found by their names from the other process, which looks for modules where this one does
def measured(data: bytes) -> tuple[int, int]:
    """Which process did it, and what came of it."""
    return os.getpid(), len(data)


def picky(number: int) -> tuple[int, int]:
    """Fail in two ways: as reedpath does, and with an error that cannot travel."""
    if number == 1:
        raise ReadError("readers.empty")
    if number == 2:

        class Odd(Exception):
            pass

        raise Odd("of its own")
    return os.getpid(), number


def worded(number: int) -> str:
    return str(number)


def killed_once(said: tuple[int, str]) -> tuple[int, int]:
    """End the process in the middle of the third task, the first time that it is begun."""
    number, trace = said
    if number == 2:
        with open(trace, "a", encoding="ascii") as file:
            file.write("begun\n")
        if Path(trace).read_text(encoding="ascii") == "begun\n":
            os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid(), number


def killed_always(number: int) -> tuple[int, int]:
    if number == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid(), number


def in_order(answers: Iterator[TaskAnswer[tuple[int, int]]], count: int) -> list[TaskAnswer[tuple[int, int]]]:
    """The answers by their tasks, of which none is missing and none comes twice."""
    found = list(answers)
    assert sorted(answer.index for answer in found) == list(range(count))
    return sorted(found, key=lambda answer: answer.index)


def run(function: Any, items: Sequence[Any], **said: Any) -> list[TaskAnswer[tuple[int, int]]]:
    return in_order(run_tasks(function, items, returns=tuple, seconds_each=LONG, **said), len(items))


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2])
def test_each_task_has_its_answer_however_many_processes(count):
    answers = run(measured, [b"a" * size for size in range(6)], pool=LocalPool(count))
    assert [answer.result[1] for answer in answers] == list(range(6))
    processes = {answer.result[0] for answer in answers}
    assert (os.getpid() in processes) == (count == 1)
    assert len(processes) <= count


def test_few_short_tasks_are_done_in_the_program_itself():
    answers = run_tasks(measured, [b"", b"a"], pool=LocalPool(4), returns=tuple, seconds_each=0.01)
    assert {answer.result[0] for answer in answers} == {os.getpid()}


def test_no_task_has_no_answer():
    assert run(measured, []) == []


def read(path: Path) -> bytes:
    return path.read_bytes()


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2])
def test_what_cannot_be_had_is_the_answer_to_its_task_alone(tmp_path, count):
    (tmp_path / "there").write_bytes(b"four")
    paths = [tmp_path / "there", tmp_path / "nowhere", tmp_path / "there"]
    first, missing, last = run(measured, paths, load=read, pool=LocalPool(count))
    assert first.result[1] == last.result[1] == 4
    assert isinstance(missing.error, FileNotFoundError)
    assert missing.result is None


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2])
def test_a_task_that_fails_leaves_the_others_alone(count):
    good, empty, odd, last = run(picky, range(4), pool=LocalPool(count))
    assert (good.result[1], last.result[1]) == (0, 3)
    assert isinstance(empty.error, ReadError)
    assert str(empty.error) == "the source is empty"
    assert "of its own" in str(odd.error)


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2])
def test_a_result_of_another_type_is_none(count):
    [answer, _] = run(worded, [1, 2], pool=LocalPool(count))
    assert answer.result is None
    assert isinstance(answer.error, TypeError)


@pytest.mark.slow
def test_what_cannot_be_sent_is_the_answer_to_its_task_alone():
    answers = run(measured, [b"a", threading.Lock(), b"c"], pool=LocalPool(2))
    assert isinstance(answers[1].error, TypeError)
    assert [answers[0].result[1], answers[2].result[1]] == [1, 1]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_process_that_is_killed_loses_nothing_and_does_nothing_twice(tmp_path):
    trace = tmp_path / "trace"
    answers = run(killed_once, [(number, str(trace)) for number in range(8)], pool=LocalPool(2))
    assert [answer.result[1] for answer in answers] == list(range(8))
    assert trace.read_text(encoding="ascii") == "begun\nbegun\n"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_task_that_ends_every_process_is_given_up_and_told():
    answers = run(killed_always, range(4), pool=LocalPool(2))
    assert [answer.result and answer.result[1] for answer in answers] == [0, None, 2, 3]
    assert "ended before it was done" in str(answers[1].error)


@pytest.mark.slow
def test_closing_ends_every_process_and_thread():
    answers = run_tasks(measured, [b""] * 50, pool=LocalPool(2), returns=tuple, seconds_each=LONG)
    process = next(answers).result[0]
    answers.close()
    assert not is_alive(process)
    assert [thread for thread in threading.enumerate() if thread.name == "tasks"] == []


def test_where_no_process_can_begin_the_program_does_all(monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "nothing"))
    assert {answer.result[0] for answer in run(measured, [b"a", b"b"], pool=LocalPool(3))} == {os.getpid()}


def test_the_pool_that_is_meant():
    assert pool_at(None) == LocalPool()
    assert pool_at("10.0.0.7:8786") == ClusterPool("10.0.0.7:8786")


@pytest.mark.parametrize(
    "address", ["", "somewhere", "inproc://here:1", "10.0.0.7:8786/x", "file:///etc:80", "a b:1"]
)
def test_what_is_no_address_is_told(address):
    with pytest.raises(SettingsError, match="no address of a cluster"):
        run(measured, [b""], pool=ClusterPool(address))


def test_without_the_library_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(SettingsError) as found:
        run(measured, [b""], pool=ClusterPool("127.0.0.1:8786"))
    assert "reedpath[cluster]" in found.value.hint
