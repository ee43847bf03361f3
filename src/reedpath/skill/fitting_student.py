"""Routes and tempos that suit a student: the arranger's weights, and a tempo, by what the student is sure of."""

from __future__ import annotations

from msgspec.structs import replace

from reedpath.arrange import Route, Weights
from reedpath.skill.demands import TECHNIQUES, SkillTechnique, demands_of
from reedpath.skill.model import StudentSkill, chances, expected_share
from reedpath.skill.settings import skill_settings

# points that a technique may weigh more or less than the arranger has it, at most: an overblow's
# (`arrange/weights.toml`); less than nothing no technique weighs
MOST_EXTRA = 4.0
# a loss per point below this would make small differences of skill into points without end
LEAST_SLOPE = 0.25
# shares of the written tempo between which one is looked for, and the step; nobody sets a click finer, ours
SLOWEST, FASTEST, TEMPO_GRAIN = 0.4, 1.0, 0.05


def extra_points(skill: StudentSkill, technique: SkillTechnique) -> float:
    """Points of effort that a technique costs this student more than it costs others who are as good on the whole.

    Of what was not heard nothing is known, so it costs nothing more.
    """
    index = 1 + TECHNIQUES.index(technique)
    points = -skill.mean[index] / max(LEAST_SLOPE, float(skill.mean[-1]))
    return float(min(MOST_EXTRA, max(-MOST_EXTRA, points)))


def suited_weights(weights: Weights, skill: StudentSkill) -> Weights:
    """The arranger's weights with what each technique costs this student more, or less."""
    extra = {one: extra_points(skill, one) for one in TECHNIQUES}
    move = weights.move

    def more(points: float, technique: SkillTechnique) -> float:
        return max(0.0, points + extra[technique])

    bends = {
        gap: (
            more(points[0], SkillTechnique.HALF_BENDS),
            *(more(one, SkillTechnique.DEEP_BENDS) for one in points[1:]),
        )
        for gap, points in move.draw_bend.items()
    }
    # blow bends are weighed by a factor of the draw bend of their gap and depth; one point is the easiest of those
    blown = max(1.0, move.blow_bend_factor + extra[SkillTechnique.BLOW_BENDS])
    suited = replace(
        move,
        draw_bend=bends,
        blow_bend_factor=blown,
        overblow=more(move.overblow, SkillTechnique.OVERBLOWS),
        overdraw=more(move.overdraw, SkillTechnique.OVERDRAWS),
        split=more(move.split, SkillTechnique.SPLITS),
        chord=more(move.chord, SkillTechnique.CHORDS),
    )
    return replace(weights, move=suited)


def least_sure(skill: StudentSkill, route: Route) -> SkillTechnique | None:
    """The technique of a route that is least sure to come right; None for a route without notes."""
    demands = demands_of(route)
    if not len(demands):
        return None
    every = chances(skill, demands)
    means = {
        technique: float(every[demands.technique == index].mean())
        for index, technique in enumerate(TECHNIQUES)
        if (demands.technique == index).any()
    }
    return min(means, key=means.__getitem__)


def tempo_for(skill: StudentSkill, route: Route) -> float | None:
    """The fastest share of a route's tempo at which the share of notes expected right reaches the aim.

    Up to the written one and down to `SLOWEST`, by twentieths; None where it is reached nowhere, since slower makes
    no bend easier that is not there yet. One by one from the fastest down: slower is not always easier, as breath
    runs out.
    """
    aim = skill_settings().told.aim
    for step in range(round(FASTEST / TEMPO_GRAIN), round(SLOWEST / TEMPO_GRAIN) - 1, -1):
        if expected_share(skill, demands_of(route, step * TEMPO_GRAIN)) >= aim:
            return round(step * TEMPO_GRAIN, 2)
    return None
