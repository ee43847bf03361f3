"""The model of a student's skill: logistic item response, with points of effort as difficulty.

The log odds that a note is right are ``general + technique - slope x points``, under a Gaussian prior (a linear
logistic test model, Fischer 1973). A right note may go wrong by a lapse, and an answer may be wrong of an event, so
what it tells has other odds at both ends (slip and guess, Barton & Lord 1981). After a take the posterior is a
Gaussian again: its mode by Fisher scoring, its covariance by Laplace's approximation (Tierney & Kadane 1986). Before
each take the covariance grows, since a student learns, so old takes fade. How Gaussian log odds give a probability:
MacKay 1992. All four from memory; docs/students.md has their titles.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.skill.beliefs import NormalBelief, believed, first_belief
from reedpath.skill.demands import TECHNIQUES, PlayedDemands, SkillTechnique
from reedpath.skill.observations import SkillObservation
from reedpath.skill.settings import SkillSettings, skill_settings

Float64 = npt.NDArray[np.float64]

# steps of Fisher scoring at most, the logits below which one has arrived, and the share of a step that is still tried
MOST_STEPS, ARRIVED, SHORTEST = 100, 1e-8, 1e-9
# logits beyond which a share is 0 or 1 to thirteen decimals
FAR = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class StudentSkill:
    """What is believed of a student.

    mean : logits, shape (techniques + 2,): the general part, each technique's, and the loss per point of effort.
    covariance : of these, shape (techniques + 2, techniques + 2). first : its diagonal before anything was heard.
    heard : events heard of each technique.
    cents, late_ms : pitch and time by technique.
    """

    mean: Float64
    covariance: Float64
    first: Float64
    heard: Mapping[SkillTechnique, int]
    cents: Mapping[SkillTechnique, NormalBelief]
    late_ms: Mapping[SkillTechnique, NormalBelief]


class SkillChance(Struct, frozen=True):
    """How likely a note is to be right.

    share : 0 to 1. lowest, highest : the range that is to hold it in four cases of five; never told as exact.
    """

    share: float
    lowest: float
    highest: float


def first_skill(level: str = "") -> StudentSkill:
    """What is believed of a student of a level before anything was heard."""
    numbers = skill_settings()
    count = len(TECHNIQUES)
    mean = np.array([numbers.general.of_level(level), *[numbers.technique.mean] * count, numbers.slope.mean])
    deviation = np.array([numbers.general.deviation, *[numbers.technique.deviation] * count, numbers.slope.deviation])
    return StudentSkill(
        mean,
        np.diag(deviation**2),
        deviation**2,
        dict.fromkeys(TECHNIQUES, 0),
        dict.fromkeys(TECHNIQUES, first_belief(numbers.cents)),
        dict.fromkeys(TECHNIQUES, first_belief(numbers.lateness)),
    )


def _design(technique: npt.NDArray[np.intp], points: Float64) -> Float64:
    """Rows of what multiplies the means, shape (notes, techniques + 2)."""
    rows = np.zeros((len(technique), len(TECHNIQUES) + 2))
    rows[:, 0] = 1.0
    rows[np.arange(len(technique)), 1 + technique] = 1.0
    rows[:, -1] = -points
    return rows


def _logistic(logits: Float64) -> Float64:
    shares: Float64 = 1.0 / (1.0 + np.exp(-np.clip(logits, -FAR, FAR)))
    return shares


def _grown(skill: StudentSkill, numbers: SkillSettings) -> Float64:
    """The covariance before a take: larger, but nowhere beyond what was not known at first."""
    grown = skill.covariance + np.diag(numbers.growth.share * skill.first)
    shrink = np.minimum(1.0, np.sqrt(numbers.growth.most * skill.first / np.diag(grown)))
    bounded: Float64 = grown * np.outer(shrink, shrink)
    return bounded


def _told_between(technique: npt.NDArray[np.intp], numbers: SkillSettings) -> tuple[Float64, Float64]:
    """The share of notes told as right where none can be played, and by how much it is more where all can."""
    listener = numbers.listener
    several = np.isin(technique, [TECHNIQUES.index(SkillTechnique.SPLITS), TECHNIQUES.index(SkillTechnique.CHORDS)])
    false_alarm = np.where(several, listener.false_alarm_several, listener.false_alarm)
    overlooked = np.where(several, listener.overlooked_several, listener.overlooked)
    return overlooked, (1.0 - listener.lapse) * (1.0 - false_alarm - overlooked)


def _settled(
    prior: tuple[Float64, Float64], rows: Float64, right: Float64, weight: Float64, between: tuple[Float64, Float64]
) -> tuple[Float64, Float64]:
    """Mode and covariance of the posterior."""
    start, precision = prior[0], np.linalg.inv(prior[1])
    (guess, span), mean = between, prior[0].copy()

    def worth(at: Float64) -> float:
        told, away = guess + span * _logistic(rows @ at), at - start
        likely = weight * np.log(np.where(right > 0, told, 1.0 - told))
        return float(likely.sum() - away @ precision @ away / 2)

    reached = worth(mean)
    for _ in range(MOST_STEPS):
        known = _logistic(rows @ mean)
        told = guess + span * known
        slope = span * known * (1.0 - known)
        scale = weight * slope / (told * (1.0 - told))
        gradient = rows.T @ (scale * (right - told)) - precision @ (mean - start)
        curvature = rows.T @ (rows * (scale * slope)[:, None]) + precision
        step = np.linalg.solve(curvature, gradient)
        # halved until it leads upwards: a hard note that came right by luck makes whole steps go to and fro
        length = 1.0
        while length > SHORTEST and (there := worth(mean + length * step)) < reached:
            length /= 2
        if length <= SHORTEST:
            break
        mean, reached = mean + length * step, there
        if float(np.abs(step).max()) < ARRIVED:
            break
    covariance = np.linalg.inv(curvature)
    return mean, (covariance + covariance.T) / 2


def after_take(skill: StudentSkill, seen: Sequence[SkillObservation]) -> StudentSkill:
    """What is believed after one more take."""
    if not seen:
        return skill
    numbers = skill_settings()
    technique = np.array([TECHNIQUES.index(one.technique) for one in seen], dtype=np.intp)
    rows = _design(technique, np.array([one.points for one in seen], dtype=np.float64))
    mean, covariance = _settled(
        (skill.mean, _grown(skill, numbers)),
        rows,
        np.array([one.right for one in seen], dtype=np.float64),
        np.array([one.weight for one in seen], dtype=np.float64),
        _told_between(technique, numbers),
    )
    of = {one: [each for each in seen if each.technique is one] for one in TECHNIQUES}
    return StudentSkill(
        mean,
        covariance,
        skill.first,
        {one: skill.heard[one] + len(of[one]) for one in TECHNIQUES},
        {
            one: believed(skill.cents[one], [each.cents for each in of[one] if each.cents is not None], numbers.cents)
            for one in TECHNIQUES
        },
        {
            one: believed(
                skill.late_ms[one], [each.late_ms for each in of[one] if each.late_ms is not None], numbers.lateness
            )
            for one in TECHNIQUES
        },
    )


def _logits(skill: StudentSkill, demands: PlayedDemands) -> tuple[Float64, Float64]:
    """Mean and variance of the log odds of each note."""
    rows = _design(demands.technique, demands.points)
    mean: Float64 = rows @ skill.mean
    return mean, np.einsum("ij,jk,ik->i", rows, skill.covariance, rows)


def chances(skill: StudentSkill, demands: PlayedDemands) -> Float64:
    """How likely each note is to be right, shape (notes,)."""
    mean, variance = _logits(skill, demands)
    able: Float64 = _logistic(mean / np.sqrt(1.0 + np.pi * variance / 8.0))
    return able * (1.0 - skill_settings().listener.lapse)


def expected_share(skill: StudentSkill, demands: PlayedDemands) -> float:
    """The share of notes that are expected to be right; 1 where there are none."""
    return float(chances(skill, demands).mean()) if len(demands) else 1.0


def chance_of(skill: StudentSkill, technique: SkillTechnique, points: float) -> SkillChance:
    """How likely a note of a technique is to be right at so many points of effort, with its range."""
    from statistics import NormalDist

    at = np.array([TECHNIQUES.index(technique)], dtype=np.intp)
    demands = PlayedDemands(at, at, np.array([points]))
    mean, variance = _logits(skill, demands)
    numbers = skill_settings()
    half = numbers.told.widened * NormalDist().inv_cdf((1.0 + numbers.told.range) / 2) * np.sqrt(variance)
    most = 1.0 - numbers.listener.lapse
    lowest, highest = most * _logistic(mean - half), most * _logistic(mean + half)
    return SkillChance(float(chances(skill, demands)[0]), float(lowest[0]), float(highest[0]))
