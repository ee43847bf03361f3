"""Tasks sent to a Dask cluster: two workers on this machine, reached over loopback alone."""

from __future__ import annotations

import os
import signal
import socket
import sys
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import pytest

from jobs.test_task_pool import killed_always, killed_once, measured, picky, read, run, worded
from jobs.test_tune_surveys import tune_folder
from reedpath.errors import ReadError, SettingsError
from reedpath.jobs import LocalPool, RouteRequest, survey_tunes, task_cluster
from reedpath.jobs.task_cluster import _check_workers
from reedpath.jobs.task_pool import ClusterPool, run_tasks
from support.clusters import two_workers

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX"),
    pytest.mark.filterwarnings("default"),  # the library's own, of sockets that it closes late
]


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with two_workers(scheduler_kwargs={"allowed_failures": 1}) as made:
        yield made


@pytest.fixture
def pool(cluster: Any) -> ClusterPool:
    return ClusterPool(cluster.scheduler_address)


def test_tasks_are_done_by_the_workers(pool, tmp_path):
    (tmp_path / "there").write_bytes(b"four")
    paths = [tmp_path / "there"] * 8 + [tmp_path / "nowhere"]
    answers = run(measured, paths, load=read, pool=pool)
    assert [answer.result[1] for answer in answers[:8]] == [4] * 8
    assert os.getpid() not in {answer.result[0] for answer in answers[:8]}
    assert isinstance(answers[8].error, FileNotFoundError)


def test_what_a_task_raises_is_its_answer(pool):
    good, empty, odd, last = run(picky, range(4), pool=pool)
    assert (good.result[1], last.result[1]) == (0, 3)
    assert isinstance(empty.error, ReadError)
    assert "of its own" in str(odd.error)
    [other] = run(worded, [1], pool=pool)
    assert isinstance(other.error, TypeError)


def test_a_worker_that_is_killed_loses_nothing_and_no_answer_comes_twice(pool, tmp_path):
    trace = tmp_path / "trace"
    answers = run(killed_once, [(number, str(trace)) for number in range(20)], pool=pool)
    assert [answer.result[1] for answer in answers] == list(range(20))
    assert trace.read_text(encoding="ascii") == "begun\nbegun\n"


def test_a_worker_killed_from_outside_while_answers_come_loses_nothing(cluster, pool, capfd):
    found = []
    for answer in run_tasks(
        measured, [b"a" * size for size in range(40)], pool=pool, returns=tuple, seconds_each=1.0
    ):
        if len(found) == 10:
            os.kill(answer.result[0], signal.SIGKILL)
        found.append(answer)
    assert sorted(answer.index for answer in found) == list(range(40))
    assert sorted(answer.result[1] for answer in found) == list(range(40))
    assert capfd.readouterr().err == ""
    cluster.wait_for_workers(2)


def test_a_task_that_kills_every_worker_is_given_up_and_told(cluster, pool):
    answers = run(killed_always, range(3), pool=pool)
    assert [answer.result and answer.result[1] for answer in answers] == [0, None, 2]
    assert "ended before it was done" in str(answers[1].error)
    cluster.wait_for_workers(2)


def test_a_survey_of_tunes_by_a_cluster_is_that_of_this_machine(pool, tmp_path):
    folder = tune_folder(tmp_path / "tunes")
    there, here = (survey_tunes([folder], RouteRequest(), pool=one) for one in (pool, LocalPool(1)))
    assert there.tunes == here.tunes
    assert list(map(str, there.unread)) == list(map(str, here.unread))


def test_closing_leaves_the_cluster_as_it_was(cluster, pool):
    answers = run_tasks(measured, [b""] * 100, pool=pool, returns=tuple, seconds_each=1.0)
    assert next(answers).error is None
    answers.close()
    assert [answer.result[1] for answer in run(measured, [b"ab"], pool=pool)] == [2]


def closed_after(count: int, answers: Iterator[Any], cluster: Any, found: list[int]) -> None:
    """Note which tasks are answered, and close the cluster after so many."""
    for answer in answers:
        found.append(answer.index)
        if len(found) == count:
            cluster.close()


def test_a_cluster_that_is_gone_before_all_is_done_is_told(capfd):
    distributed = pytest.importorskip("distributed")
    found = []
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, protocol="tcp", host="127.0.0.1", dashboard_address=None,
        silence_logs=50,
    ) as made:  # fmt: skip
        pool = ClusterPool(made.scheduler_address)
        with pytest.raises(SettingsError, match="was lost before all was done"):
            closed_after(5, run_tasks(measured, [b""] * 60, pool=pool, returns=tuple, seconds_each=1.0), made, found)
    assert len(found) == len(set(found)) < 60
    assert capfd.readouterr().err == ""


def test_where_nobody_answers_it_is_told(monkeypatch):
    monkeypatch.setattr(task_cluster, "CONNECT_SECONDS", 0.3)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{taken.getsockname()[1]}"
        with pytest.raises(SettingsError, match="no scheduler of a cluster answers at"):
            run(measured, [b""], pool=ClusterPool(address))


def client_of(**workers: dict[str, str | None]) -> Any:
    """What a client says of versions."""
    here = {"packages": {"python": "3.11.2.final.0", "distributed": "2026.8.0", "reedpath": "0.1"}}
    there = {name: {"packages": here["packages"] | said} for name, said in workers.items()}
    return SimpleNamespace(get_versions=lambda packages: {"client": here, "workers": there})


@pytest.mark.parametrize(
    ("workers", "told"),
    [
        ({}, "has no worker"),
        ({"one": {}, "two": {"reedpath": None}}, "not installed where the worker two runs"),
        ({"one": {"reedpath": "0.2"}}, "reedpath is 0.1 here and 0.2 where the worker one runs"),
        ({"one": {"python": "3.12.1.final.0"}}, "Python is 3.11 here and 3.12 where"),
        ({"one": {"distributed": "2025.1.0"}}, "distributed is 2026.8.0 here and 2025.1.0 where"),
    ],
)
def test_workers_that_could_not_do_it_are_told(workers, told):
    with pytest.raises(SettingsError, match=told):
        _check_workers(client_of(**workers), "127.0.0.1:8786")


def test_another_patch_of_python_is_no_matter():
    _check_workers(client_of(one={"python": "3.11.9.final.0"}), "127.0.0.1:8786")
