"""What is believed of a quantity that is measured again and again: its mean and spread, by conjugate normals.

Normal-inverse-gamma, updated take by take (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 3.3). Before
each take what was believed so far is worth a little less, so that a student who has learnt is not held to old takes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from reedpath.skill.settings import BeliefSettings

# steps of Newton's method at most, and the radians below which one has arrived
MOST_STEPS, ARRIVED = 100, 1e-15


def student_quantile(freedom: float, share: float) -> float:
    """The value that Student's t with ``freedom`` degrees stays under in a share of cases, a half or more.

    With t = sqrt(freedom) tan(angle) its distribution is an integral of cos(angle) ** (freedom - 1) (Abramowitz &
    Stegun, Handbook of Mathematical Functions, 26.7.1), which grows ever more slowly: Newton's method, begun at the
    quantile of a normal, comes nearer at each step. SciPy has it too, and takes a tenth of a second to be imported.
    """
    from statistics import NormalDist

    density = math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(math.pi)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    angle = math.atan(NormalDist().inv_cdf(share) / math.sqrt(freedom))
    for _ in range(MOST_STEPS):
        below = angle / 2 * float(weights @ np.cos(angle / 2 * (nodes + 1)) ** (freedom - 1))
        step = ((share - 0.5) / density - below) / math.cos(angle) ** (freedom - 1)
        angle += step
        if abs(step) < ARRIVED:
            break
    return math.sqrt(freedom) * math.tan(angle)


class NormalBelief(Struct, frozen=True):
    """What is believed of a quantity.

    mean : of it. worth : how many events that is worth. freedom, squares : twice shape and scale of the variance's
        inverse gamma; squares in the square of its unit.
    heard : events it was measured in.
    """

    mean: float
    worth: float
    freedom: float
    squares: float
    heard: int = 0

    @property
    def deviation(self) -> float:
        """Standard deviation from note to note."""
        return float(np.sqrt(self.squares / self.freedom))

    def range_of_mean(self, share: float) -> tuple[float, float]:
        """The range that holds the mean in that share of cases, by Student's t."""
        half = student_quantile(self.freedom, (1.0 + share) / 2) * self.deviation / float(np.sqrt(self.worth))
        return self.mean - half, self.mean + half


def first_belief(settings: BeliefSettings) -> NormalBelief:
    """What is believed before anything was measured."""
    squares = settings.worth * settings.deviation**2
    return NormalBelief(settings.mean, settings.worth, settings.worth, squares)


def _faded(belief: NormalBelief, settings: BeliefSettings) -> NormalBelief:
    """A belief worth less, never less than the first."""
    share = max(settings.kept, settings.worth / belief.worth) if belief.worth > settings.worth else 1.0
    return NormalBelief(
        belief.mean, belief.worth * share, belief.freedom * share, belief.squares * share, belief.heard
    )


def believed(belief: NormalBelief, values: Sequence[float], settings: BeliefSettings) -> NormalBelief:
    """What is believed after a take in which such values were measured; as before where there are none."""
    if not values:
        return belief
    before = _faded(belief, settings)
    measured = np.asarray(values, dtype=np.float64)
    count, middle = len(measured), float(measured.mean())
    worth = before.worth + count
    squares = (
        before.squares
        + float(((measured - middle) ** 2).sum())
        + before.worth * count / worth * (middle - before.mean) ** 2
    )
    mean = (before.worth * before.mean + count * middle) / worth
    return NormalBelief(mean, worth, before.freedom + count, squares, before.heard + count)
