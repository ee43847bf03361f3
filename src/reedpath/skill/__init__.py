"""Skill: what a student can do, how sure that is, and what to practise next. Knows nothing of files or the time."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.skill.demands import PlayedDemands, SkillTechnique, demands_of
    from reedpath.skill.fitting_student import least_sure, suited_weights, tempo_for
    from reedpath.skill.model import StudentSkill, after_take, chance_of, chances, expected_share, first_skill
    from reedpath.skill.observations import SkillObservation, observations_of, route_answered
    from reedpath.skill.settings import skill_settings
    from reedpath.skill.spacing import PracticeCard, PracticeReview, cards_of, due_cards, rating_of
    from reedpath.skill.standing import TechniqueStanding, TechniqueState, standings_of, told_range, told_share
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "PlayedDemands",
    "PracticeCard",
    "PracticeReview",
    "SkillObservation",
    "SkillTechnique",
    "StudentSkill",
    "TechniqueStanding",
    "TechniqueState",
    "after_take",
    "cards_of",
    "chance_of",
    "chances",
    "demands_of",
    "due_cards",
    "expected_share",
    "first_skill",
    "least_sure",
    "observations_of",
    "rating_of",
    "route_answered",
    "skill_settings",
    "standings_of",
    "suited_weights",
    "tempo_for",
    "told_range",
    "told_share",
]
