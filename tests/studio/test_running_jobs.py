"""Jobs in processes of their own: results, errors, and what becomes of them when they are stopped or killed."""

from __future__ import annotations

import asyncio
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from reedpath.studio.processes import ChildProcess
from reedpath.studio.running_jobs import NICE, JobState, RunningJob, RunningJobs
from support import studio_jobs


def ended_job(tmp_path: Path, function: Callable[..., Any], *arguments: Any, **options: Any) -> RunningJob:
    """A job that was started and has ended."""

    async def story() -> RunningJob:
        jobs = RunningJobs(tmp_path / "jobs")
        job = jobs.start("add", function, *arguments, **options)
        await job.ended.wait()
        await jobs.end()
        return job

    return asyncio.run(story())


def test_a_job_has_its_result_and_what_is_done_with_it(tmp_path: Path) -> None:
    async def kept(result: int) -> tuple[str, int]:
        return "kept", result

    job = ended_job(tmp_path, studio_jobs.make_file, "a word", in_folder=True, then=kept)
    assert (job.state, job.result, job.share) == (JobState.DONE, ("kept", 6), 1.0)
    assert job.step is not None
    assert job.step.name == "data"
    assert not (tmp_path / "jobs").exists()


def test_an_error_of_ours_comes_whole_and_any_other_as_a_fault(tmp_path: Path) -> None:
    refused = ended_job(tmp_path, studio_jobs.refuse)
    assert refused.state is JobState.FAILED
    assert refused.error is not None
    assert (refused.error.key, refused.error.values["found"]) == ("studio.no_number", "seven")
    fault = ended_job(tmp_path, studio_jobs.fault)
    assert fault.error is not None
    assert (fault.error.key, fault.error.values["kind"]) == ("cli.fault", "ZeroDivisionError")


def test_a_process_that_dies_or_wants_too_much_is_told(tmp_path: Path) -> None:
    dead = ended_job(tmp_path, studio_jobs.die)
    assert dead.error is not None
    assert (dead.state, dead.error.key) == (JobState.FAILED, "studio.job_ended")
    greedy = ended_job(tmp_path, studio_jobs.take_memory)
    assert greedy.error is not None
    assert greedy.error.key == "jobs.no_memory"


def test_jobs_stand_back(tmp_path: Path) -> None:
    result, session = ended_job(tmp_path, studio_jobs.niceness).result
    assert result == min(os.nice(0) + NICE, 19)  # the last of nice(2)
    assert session == str(NICE)


def test_a_job_that_is_cancelled_is_gone_with_its_process_and_its_files(tmp_path: Path) -> None:
    async def story() -> tuple[RunningJob, RunningJob, int]:
        jobs = RunningJobs(tmp_path / "jobs", at_once=1)
        job = jobs.start("add", studio_jobs.go_on, in_folder=True)
        other = jobs.start("add", studio_jobs.make_file, "abc", in_folder=True)
        async for all_jobs in jobs.changes():
            if all_jobs[-1].step is not None:
                break
        assert other.state is JobState.WAITING  # it waits its turn
        process = int((tmp_path / "jobs" / "process").read_text())
        await jobs.cancel(job.number)
        assert not job.folder.exists()
        await other.ended.wait()
        await jobs.cancel(other.number)  # too late: it is done
        await jobs.end()
        return job, other, process

    job, other, process = asyncio.run(story())
    assert (job.state, other.state) == (JobState.CANCELLED, JobState.DONE)
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)


def test_a_process_that_can_not_be_told_what_to_do_is_ended(monkeypatch) -> None:
    ended = []
    end = ChildProcess.end

    async def told(process: ChildProcess) -> None:
        await end(process)
        ended.append(process.has_ended)

    monkeypatch.setattr(ChildProcess, "end", told)
    not_to_be_sent = lambda: None  # noqa: E731 - a function without a name is found by no other process
    with pytest.raises((pickle.PicklingError, AttributeError)):
        asyncio.run(ChildProcess.start(studio_jobs.refuse, not_to_be_sent))
    assert ended == [True]


def test_what_stopped_jobs_left_is_cleared_away_at_the_next_start(tmp_path: Path) -> None:
    (tmp_path / "jobs" / "7").mkdir(parents=True)

    async def story() -> None:
        RunningJobs(tmp_path / "jobs")

    asyncio.run(story())
    assert not (tmp_path / "jobs").exists()
