"""Pitch and time by conjugate normals, held against what they must come to."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from reedpath.skill.beliefs import believed, first_belief, student_quantile
from reedpath.skill.settings import BeliefSettings

STEADY = BeliefSettings(mean=0.0, deviation=20.0, worth=4.0, kept=1.0)
FADING = BeliefSettings(mean=0.0, deviation=20.0, worth=4.0, kept=0.8)
VALUES = st.lists(st.floats(-80, 80), max_size=12)


@given(values=VALUES, parts=st.integers(1, 4))
def test_without_fading_takes_come_to_the_same_as_all_at_once(values, parts) -> None:
    at_once = believed(first_belief(STEADY), values, STEADY)
    piece = first_belief(STEADY)
    for part in range(parts):
        piece = believed(piece, values[part::parts], STEADY)
    assert (piece.mean, piece.worth, piece.freedom, piece.heard) == pytest.approx(
        (at_once.mean, at_once.worth, at_once.freedom, at_once.heard)
    )
    assert piece.squares == pytest.approx(at_once.squares)


def test_the_posterior_is_that_of_a_normal_inverse_gamma_by_quadrature() -> None:
    values = [-12.0, -20.0, -8.0, -15.0]
    belief = believed(first_belief(STEADY), values, STEADY)
    means, deviations = np.linspace(-60, 40, 401), np.linspace(2, 80, 400)
    m, s = np.meshgrid(means, deviations, indexing="ij")
    prior = stats.norm.pdf(m, 0, s / 2) * stats.invgamma.pdf(s**2, 2, scale=800) * s
    likely = np.prod([stats.norm.pdf(one, m, s) for one in values], axis=0)
    weight = prior * likely
    weight /= weight.sum()
    of_mean = weight.sum(axis=1)
    assert belief.mean == pytest.approx(float((of_mean * means).sum()), abs=0.05)
    low, high = belief.range_of_mean(0.8)
    assert float(of_mean[(means >= low) & (means <= high)].sum()) == pytest.approx(0.8, abs=0.01)


def test_old_takes_fade_and_never_below_the_first_belief() -> None:
    belief = first_belief(FADING)
    for _ in range(30):
        belief = believed(belief, [30.0] * 10, FADING)
    before = belief
    for _ in range(4):
        belief = believed(belief, [0.0] * 10, FADING)
    assert before.mean > 28
    assert belief.mean < 15
    assert belief.worth >= FADING.worth
    assert belief.heard == 340
    assert believed(belief, [], FADING) is belief


def test_quantiles_of_students_t_are_those_of_scipy() -> None:
    # scipy.special.stdtrit
    for freedom in (1.0, 1.5, 2.0, 4.0, 7.3, 30.0, 400.0, 1e4):
        for share in (0.5, 0.55, 0.75, 0.9, 0.975, 0.995):
            wanted = float(special.stdtrit(freedom, share))
            assert student_quantile(freedom, share) == pytest.approx(wanted, rel=1e-9, abs=1e-12)
