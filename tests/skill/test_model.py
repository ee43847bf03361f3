"""The model of skill: held against an optimizer, quadrature and what must hold of any belief."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import optimize, special, stats

from reedpath.skill import (
    PlayedDemands,
    SkillObservation,
    SkillTechnique,
    after_take,
    chance_of,
    chances,
    expected_share,
    first_skill,
    skill_settings,
)
from reedpath.skill.demands import TECHNIQUES
from reedpath.skill.model import _design, _grown, _told_between
from support.examples import examples

PLAIN, HALF = SkillTechnique.PLAIN, SkillTechnique.HALF_BENDS

OBSERVATIONS = st.lists(
    st.builds(
        SkillObservation,
        technique=st.sampled_from(TECHNIQUES),
        points=st.floats(0, 8),
        right=st.booleans(),
        weight=st.floats(0.2, 1),
    ),
    min_size=1,
    max_size=25,
)


def demands(technique: SkillTechnique, *points: float) -> PlayedDemands:
    index = np.full(len(points), TECHNIQUES.index(technique))
    return PlayedDemands(np.arange(len(points)), index, np.array(points))


def log_posterior(w, skill, seen) -> float:
    """The logarithm of the posterior, written out anew from its definition."""
    numbers = skill_settings()
    technique = np.array([TECHNIQUES.index(one.technique) for one in seen])
    rows = _design(technique, np.array([one.points for one in seen]))
    guess, span = _told_between(technique, numbers)
    told = guess + span / (1 + np.exp(-rows @ w))
    right = np.array([one.right for one in seen])
    weight = np.array([one.weight for one in seen])
    likelihood = float((weight * np.log(np.where(right, told, 1 - told))).sum())
    return likelihood + float(stats.multivariate_normal(skill.mean, _grown(skill, numbers)).logpdf(w))


@pytest.mark.slow
@examples(30)
@given(seen=OBSERVATIONS)
@example(seen=[SkillObservation(PLAIN, 7.0, right=True)])
def test_the_mean_after_a_take_is_the_mode_that_an_optimizer_finds(seen) -> None:
    skill = first_skill("steady")
    found = after_take(skill, seen).mean
    best = optimize.minimize(lambda w: -log_posterior(w, skill, seen), skill.mean, method="BFGS", tol=1e-9)
    assert log_posterior(found, skill, seen) >= -best.fun - 1e-6


@examples(40)
@given(takes=st.lists(OBSERVATIONS, min_size=1, max_size=6))
def test_whatever_is_heard_the_covariance_is_one_and_never_beyond_what_was_not_known_at_first(takes) -> None:
    skill = first_skill()
    for seen in takes:
        skill = after_take(skill, seen)
    assert np.isfinite(skill.mean).all()
    assert np.array_equal(skill.covariance, skill.covariance.T)
    assert np.linalg.eigvalsh(skill.covariance).min() > 0
    assert (np.diag(skill.covariance) <= skill_settings().growth.most * skill.first + 1e-9).all()
    for technique in TECHNIQUES:
        chance = chance_of(skill, technique, 2.0)
        assert 0 <= chance.lowest <= chance.share <= chance.highest <= 1


@examples(30)
@given(seen=OBSERVATIONS, order=st.randoms())
def test_the_order_of_events_within_a_take_says_nothing(seen, order) -> None:
    other = list(seen)
    order.shuffle(other)
    one, two = after_take(first_skill(), seen), after_take(first_skill(), other)
    assert one.mean == pytest.approx(two.mean, abs=1e-6)
    assert one.covariance == pytest.approx(two.covariance, abs=1e-6)


@examples(30)
@given(seen=OBSERVATIONS, technique=st.sampled_from(TECHNIQUES), points=st.floats(0, 5))
def test_one_more_right_is_better_than_one_more_wrong_for_it(seen, technique, points) -> None:
    right = after_take(first_skill(), [*seen, SkillObservation(technique, points, right=True)])
    wrong = after_take(first_skill(), [*seen, SkillObservation(technique, points, right=False)])
    assert expected_share(right, demands(technique, points)) > expected_share(wrong, demands(technique, points))


def test_laplace_comes_near_to_quadrature_where_that_can_be_done() -> None:
    # plain notes at no effort: only general + plain counts, one number with a Gaussian prior
    skill, numbers = first_skill("steady"), skill_settings()
    grown = _grown(skill, numbers)
    middle = skill.mean[0] + skill.mean[1]
    deviation = np.sqrt(grown[0, 0] + grown[1, 1] + 2 * grown[0, 1])
    grid = np.linspace(middle - 8 * deviation, middle + 8 * deviation, 20_001)
    guess, span = (float(one[0]) for one in _told_between(np.array([0]), numbers))
    able = 1 / (1 + np.exp(-grid))
    told = guess + span * able
    for right, wrong in ((12, 0), (10, 2), (6, 6), (2, 10), (40, 10), (0, 1)):
        seen = [SkillObservation(PLAIN, 0.0, right=number < right) for number in range(right + wrong)]
        posterior = stats.norm.pdf(grid, middle, deviation) * told**right * (1 - told) ** wrong
        exact = float((posterior * able).sum() / posterior.sum()) * (1 - numbers.listener.lapse)
        assert expected_share(after_take(skill, seen), demands(PLAIN, 0.0)) == pytest.approx(exact, abs=0.035)


def test_what_gaussian_log_odds_give_comes_near_to_their_integral() -> None:
    skill = first_skill("steady")
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    for points in (0.0, 1.0, 3.0, 6.0):
        rows = _design(np.array([0]), np.array([points]))[0]
        mean, deviation = rows @ skill.mean, np.sqrt(rows @ skill.covariance @ rows)
        exact = float((weights / (1 + np.exp(-(mean + deviation * nodes)))).sum() / weights.sum())
        got = float(chances(skill, demands(PLAIN, points))[0]) / (1 - skill_settings().listener.lapse)
        assert got == pytest.approx(exact, abs=0.015)


def test_ranges_grow_narrower_with_what_is_heard_and_wider_again_where_nothing_more_is() -> None:
    skill = first_skill("easy")

    def width(one) -> float:
        # in log odds, since shares near 1 lie close together whatever is known
        chance, most = chance_of(one, HALF, 1.0), 1 - skill_settings().listener.lapse
        return float(np.diff(special.logit([chance.lowest / most, chance.highest / most]))[0])

    heard = [skill := after_take(skill, [SkillObservation(HALF, 1.0, right=True)] * 10) for _ in range(3)]
    assert width(first_skill("easy")) > width(heard[0]) > width(heard[2])
    for _ in range(10):
        skill = after_take(skill, [SkillObservation(SkillTechnique.OVERDRAWS, 5.0, right=True)])
    assert width(skill) > width(heard[2])


def test_what_an_answer_would_say_lies_between_its_error_rates() -> None:
    several, plain = demands(SkillTechnique.CHORDS, 60.0), demands(PLAIN, -60.0)
    listener = skill_settings().listener
    assert _told_between(several.technique, skill_settings())[0] == pytest.approx(listener.overlooked_several)
    guess, span = _told_between(plain.technique, skill_settings())
    assert guess + span == pytest.approx(
        (1 - listener.lapse) * (1 - listener.false_alarm) + listener.lapse * listener.overlooked
    )


def test_a_level_that_is_not_known_begins_as_a_steady_player() -> None:
    assert first_skill("of my own").mean[0] == first_skill("steady").mean[0] == first_skill("deviation").mean[0]
    assert first_skill("first-months").mean[0] < first_skill("advanced").mean[0]


def test_nothing_heard_changes_nothing() -> None:
    skill = first_skill()
    assert after_take(skill, []) is skill
