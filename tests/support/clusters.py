"""A cluster of two workers on this machine, reached over loopback alone."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest


@contextmanager
def two_workers(**more: Any) -> Iterator[Any]:
    """Two workers, each a process with one thread, each started again by its keeper where it is killed.

    more : settings of the library's `LocalCluster`.
    """
    distributed = pytest.importorskip("distributed")
    import dask

    # a worker that comes back late on a busy machine is not given up, as it would not be with a keeper of its own
    with (
        dask.config.set({"distributed.deploy.lost-worker-timeout": "1h"}),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None,
            silence_logs=50, **more,
        ) as made,
    ):  # fmt: skip
        yield made
