"""A take heard for one harp after another: what can sound on a harp guides what is heard.

Harps that reach from the same lowest note to the same highest hear alike, so that each such hearing is made once.
"""

from __future__ import annotations

from reedpath.harp import Harp
from reedpath.hear import Observations
from reedpath.listen.expected import pitch_prior
from reedpath.listen.segments import Hearing, Segments, heard_in, segments_of


class TakeHearings:
    """The hearings of one take, each made when it is first asked for.

    seen : what `reedpath.hear.observe` sees in the take.
    """

    def __init__(self, seen: Observations) -> None:
        self.seen = seen
        self._made: dict[bytes, tuple[Hearing, Segments]] = {}

    def on(self, harp: Harp) -> tuple[Hearing, Segments]:
        """The take as it is heard for a harp, and its segments."""
        prior = pitch_prior(harp)
        key = prior.tobytes()
        if key not in self._made:
            hearing = heard_in(self.seen, prior=prior)
            self._made[key] = hearing, segments_of(hearing)
        return self._made[key]
