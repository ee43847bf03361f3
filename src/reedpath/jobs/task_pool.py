"""Many tasks of one kind: one function for each of many files, in processes of this machine or in a Dask cluster.

What a task is given and gives back are values, bytes among them, never names of files: whoever does it may be another
machine. Each task has exactly one answer, its result or the error that came of it, however often a process ended in
the middle of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeAlias, TypeVar

from msgspec import Struct

from reedpath.jobs.processes import process_count
from reedpath.jobs.task_processes import run_here
from reedpath.jobs.tasks import TaskAnswer, Tasks

Item = TypeVar("Item")
Result = TypeVar("Result")


class LocalPool(Struct, frozen=True):
    """Processes of this machine.

    count : how many at most, None for `process_count`. With one, the tasks are done in the program itself.
    """

    count: int | None = None


class ClusterPool(Struct, frozen=True):
    """A Dask cluster that is there already.

    address : of its scheduler, as ``host:port`` or ``tcp://host:port``.
    """

    address: str


TaskPool: TypeAlias = LocalPool | ClusterPool


def pool_at(cluster: str | None) -> TaskPool:
    """The pool that a user means: the cluster at an address, or this machine."""
    return LocalPool() if cluster is None else ClusterPool(cluster)


def run_tasks(
    function: Callable[[Any], Result],
    items: Sequence[Item],
    *,
    pool: TaskPool | None = None,
    load: Callable[[Item], Any] | None = None,
    returns: type[Result],
    seconds_each: float,
) -> Iterator[TaskAnswer[Result]]:
    """The answer to each task, as they come: one for each item, none twice.

    What is at work when the iterator is closed is ended, in a cluster forgotten.

    function : of a module, so that other processes find it by its name.
    items : one for each task.
    load : makes of an item what the function is called with (a file's bytes), called here shortly before the task is
        begun, so that not all are in memory at once; None where the items are that already.
    returns : the type of the results; what is of another type is no result.
    seconds_each : that a processor about takes for one: a few short ones are not worth another process.

    Raises `SettingsError` where the cluster cannot be used, or is gone before all is done.
    """
    pool = pool or LocalPool()
    tasks = Tasks(function, items, load)
    if isinstance(pool, ClusterPool):
        from reedpath.jobs.task_cluster import run_in_cluster  # enters more, where a cluster is used

        answers = run_in_cluster(tasks, pool.address)
    else:
        answers = run_here(tasks, process_count() if pool.count is None else pool.count, seconds_each)
    for answer in answers:
        yield answer if answer.error or isinstance(answer.result, returns) else _no_result(answer)


def _no_result(answer: TaskAnswer[Any]) -> TaskAnswer[Any]:
    return TaskAnswer(answer.index, None, TypeError(f"a task has returned {type(answer.result).__name__}"))
