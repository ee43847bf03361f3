"""The numbers of the model, read from skill.toml, which says what each is."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.data import read_toml, shipped_text
from reedpath.data.numbers import Share

# logits, events, milliseconds and the like: more than zero
Positive = Annotated[float, Meta(gt=0, lt=1e6)]


class GeneralSettings(Struct, frozen=True, forbid_unknown_fields=True, rename={"first_months": "first-months"}):
    """Logits of a plain note by level, and their standard deviation."""

    first_months: float
    easy: float
    steady: float
    strong: float
    advanced: float
    deviation: Positive

    def of_level(self, level: str) -> float:
        """Logits for a level; those of a steady player for one that is not known."""
        value = getattr(self, level.replace("-", "_"), self.steady) if level != "deviation" else self.steady
        return float(value)


class PriorSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """A number before anything was heard: its mean and standard deviation."""

    mean: float
    deviation: Positive


class GrowthSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """What is less known after each take than before it."""

    share: Share
    most: Positive


class ListenerSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """How often an answer is wrong of an event."""

    false_alarm: Share
    overlooked: Share
    false_alarm_several: Share
    overlooked_several: Share
    lapse: Share


class BeliefSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """A measured quantity before anything was heard, and how fast earlier takes fade."""

    mean: float
    deviation: Positive
    worth: Positive
    kept: Share


class ToldSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """What is aimed at, and from where on something is told."""

    level: str
    aim: Share
    range: Share
    widened: Positive
    sure: Share
    unsure: Share
    widest: Share
    fewest: Annotated[int, Meta(ge=1, le=1000)]


class SkillSettings(Struct, frozen=True, forbid_unknown_fields=True):
    """The tables of skill.toml, which says what each number is."""

    general: GeneralSettings
    technique: PriorSettings
    slope: PriorSettings
    growth: GrowthSettings
    listener: ListenerSettings
    cents: BeliefSettings
    lateness: BeliefSettings
    told: ToldSettings


@cache
def skill_settings() -> SkillSettings:
    """The shipped numbers."""
    text = shipped_text("reedpath.skill", "skill.toml")
    return read_toml(text, SkillSettings, file="skill.toml")
