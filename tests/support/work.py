"""How much work a call does, counted in calls of functions: the same on every machine, however busy."""

from __future__ import annotations

import sys
from collections.abc import Callable
from cProfile import Profile

__all__ = ["calls_of", "grows_evenly"]

# how many times larger the second input is, and how much more than so many times the work it may make: what is
# quadratic makes 16 times the work
TIMES, LEEWAY = 4, 1.5


def calls_of(action: Callable[[], object]) -> int:
    """Calls of functions, Python's and the interpreter's, while an action runs."""
    counter = Profile(subcalls=False)
    before = sys.getprofile()
    try:
        counter.runcall(action)
    finally:
        sys.setprofile(before)
    return sum(one.callcount for one in counter.getstats())


def grows_evenly(action: Callable[[int], object], size: int) -> bool:
    """Whether an action on an input so many times larger does so many times the work, and not more."""
    action(max(1, size // TIMES))  # what is kept from call to call is there for both
    small = calls_of(lambda: action(size))
    return calls_of(lambda: action(TIMES * size)) <= TIMES * LEEWAY * small
