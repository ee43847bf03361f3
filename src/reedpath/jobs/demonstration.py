"""The demonstration: a phrase of our own invention, read from the package, and how it is arranged."""

from __future__ import annotations

from importlib.resources import files

from reedpath.jobs.asking import RouteRequest
from reedpath.jobs.sources import ReadPhrase, read_source

__all__ = ["demo_request", "demo_source"]

DEMO_FILE = "two-questions.txt"


def demo_source() -> ReadPhrase:
    """The shipped phrase."""
    data = (files("reedpath.jobs") / "demo" / DEMO_FILE).read_bytes()
    return read_source(data, name=DEMO_FILE)


def demo_request() -> RouteRequest:
    """How it is arranged: as any phrase is, the survey choosing the harp."""
    return RouteRequest()
