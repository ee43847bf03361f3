"""Per technique what is sure and what is not, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from statistics import median

from msgspec import Struct

from reedpath.skill.demands import TECHNIQUES, SkillTechnique
from reedpath.skill.model import SkillChance, StudentSkill, chance_of
from reedpath.skill.observations import SkillObservation
from reedpath.skill.settings import skill_settings

# parts of a hundred to which a chance is told: finer would be pretence; ours
TOLD_TO = 5


class TechniqueState(StrEnum):
    """How a student stands with a technique; the values are keys of the catalogues under "skill.standing"."""

    SURE = "sure"
    BETWEEN = "between"
    NOT_YET = "not_yet"
    UNKNOWN = "unknown"


class MeasuredRange(Struct, frozen=True):
    """A measured quantity: its mean, the range that holds the mean in four cases of five, its spread."""

    mean: float
    lowest: float
    highest: float
    deviation: float


class TechniqueStanding(Struct, frozen=True):
    """A technique of a student.

    standing : in a word. chance : that such a note is right, as hard as those that were heard of it.
    heard : events of it. points : how hard they were, in the middle.
    cents, late_ms : pitch and time; None where none was measured.
    """

    technique: SkillTechnique
    standing: TechniqueState
    chance: SkillChance
    heard: int
    points: float
    cents: MeasuredRange | None
    late_ms: MeasuredRange | None


def told_range(chance: SkillChance) -> tuple[int, int]:
    """The range of a chance as it is told: parts of a hundred, by fives, outwards.

    >>> told_range(SkillChance(0.62, 0.48, 0.76))
    (45, 80)
    """
    lowest = TOLD_TO * math.floor(100 * chance.lowest / TOLD_TO)
    return lowest, min(100, TOLD_TO * math.ceil(100 * chance.highest / TOLD_TO))


def told_share(share: float) -> int:
    """An expected share as it is told: parts of a hundred, by fives.

    >>> told_share(0.814), told_share(0.99)
    (80, 100)
    """
    return TOLD_TO * round(100 * share / TOLD_TO)


def _standing(chance: SkillChance, heard: int) -> TechniqueState:
    told = skill_settings().told
    if heard < told.fewest or chance.highest - chance.lowest > told.widest:
        return TechniqueState.UNKNOWN
    if chance.lowest >= told.sure:
        return TechniqueState.SURE
    return TechniqueState.NOT_YET if chance.highest < told.unsure else TechniqueState.BETWEEN


def standings_of(skill: StudentSkill, takes: Sequence[Sequence[SkillObservation]]) -> tuple[TechniqueStanding, ...]:
    """The techniques that were heard, the least sure first.

    takes : what was seen in each take, of which ``skill`` is what came.
    """
    points: Mapping[SkillTechnique, list[float]] = {one: [] for one in TECHNIQUES}
    for take in takes:
        for seen in take:
            points[seen.technique].append(seen.points)
    share = skill_settings().told.range
    found = []
    for technique, all_points in points.items():
        if not all_points:
            continue
        middle = float(median(all_points))
        chance = chance_of(skill, technique, middle)
        measured = []
        for belief in (skill.cents[technique], skill.late_ms[technique]):
            inside = MeasuredRange(belief.mean, *belief.range_of_mean(share), belief.deviation)
            measured.append(inside if belief.heard else None)
        heard = len(all_points)
        found.append(TechniqueStanding(technique, _standing(chance, heard), chance, heard, middle, *measured))
    return tuple(sorted(found, key=lambda one: (one.chance.share, one.technique.value)))
