"""A plugin of pytest that counts the processor time of tests, with that of their processes: ``-p costs_of_tests``.

At the end it names the tests that are not marked ``slow`` and cost more than LIMIT, and the marked ones that cost
less than a third of it. Nothing fails of it: a machine at work makes all tests dearer, so it is read by a person, on
an idle one. What is made once for several tests is counted for the first.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Generator

import pytest

# seconds of processor, on an idle core, that a test without the mark may cost; ours: some 7,000 of them are to be
# over in a minute on two cores
LIMIT = 0.2
_costs: dict[str, tuple[float, bool]] = {}


def _spent() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Count setting up, the test and clearing away."""
    before = _spent()
    try:
        return (yield)
    finally:
        _costs[item.nodeid] = _spent() - before, item.get_closest_marker("slow") is not None


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name what is marked otherwise than it costs, and the sum."""
    dear = {test: cost for test, (cost, is_slow) in _costs.items() if cost > LIMIT and not is_slow}
    cheap = {test: cost for test, (cost, is_slow) in _costs.items() if cost < LIMIT / 3 and is_slow}
    for head, found in (("not marked slow, and dear", dear), ("marked slow, and cheap", cheap)):
        terminalreporter.section(f"{head}, seconds of processor")
        for test, cost in sorted(found.items(), key=lambda one: -one[1]):
            terminalreporter.line(f"{cost:7.2f} {test}")
    sums = [sum(cost for cost, is_slow in _costs.values() if is_slow is wanted) for wanted in (False, True)]
    terminalreporter.line(f"in all: {sums[0]:.1f} s of tests without the mark, {sums[1]:.1f} s of those with it")
