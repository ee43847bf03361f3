"""On how many examples a property is tried: all, or a share of them where an answer is wanted soon."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# scripts/test --quick sets QUICK_TESTS: a change that breaks a property is mostly seen in the first examples; the
# whole suite tries all
SHARE = 4 if os.environ.get("QUICK_TESTS") else 1
LEAST = 10


def examples(count: int, *, fixture: bool = False) -> settings:
    """As many examples at most; where a fixture is made once for all of them, say so."""
    unchecked = [HealthCheck.function_scoped_fixture] if fixture else []
    return settings(max_examples=max(min(count, LEAST), count // SHARE), suppress_health_check=unchecked)
