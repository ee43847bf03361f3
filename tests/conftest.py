"""What all tests share: how Hypothesis draws its examples."""

from __future__ import annotations

import os

# sums of a few thousand numbers are over before threads have begun to share them, most of all on a busy machine
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from hypothesis import settings

# No test depends on the clock. Where everything is checked before a change lands, the same examples are drawn each
# time, so that a run says something about the change and not about the draw; at home each run draws anew.
settings.register_profile("home", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "home")
