"""What a route demands, note by note: a technique, and points of effort at one reference level."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from reedpath.arrange import Choice, Route, with_moves
from reedpath.harp import Alteration, Breath
from reedpath.phrase import Phrase, Tempo, timing_of
from reedpath.skill.settings import skill_settings


class SkillTechnique(StrEnum):
    """What a note asks above all; the values are keys of the catalogues under "skill.technique"."""

    PLAIN = "plain"
    HALF_BENDS = "half_bends"  # drawn, up to a semitone deep
    DEEP_BENDS = "deep_bends"  # drawn, deeper
    BLOW_BENDS = "blow_bends"
    OVERBLOWS = "overblows"
    OVERDRAWS = "overdraws"
    SPLITS = "splits"
    CHORDS = "chords"


TECHNIQUES = tuple(SkillTechnique)
# semitones down to which a bend is a half-step one, a quarter tone of grace with it
HALF_STEP = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class PlayedDemands:
    """What notes demand: arrays of shape (notes,).

    events : indexes of the route's events that sound. technique : indexes into `TECHNIQUES`.
    points : of effort for a player of the reference level.
    """

    events: npt.NDArray[np.intp]
    technique: npt.NDArray[np.intp]
    points: npt.NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.events)


def technique_of(choice: Choice) -> SkillTechnique | None:
    """What a choice asks above all; None for one that is silent."""
    move = choice.move
    if move is None:
        return None
    if move.is_split:
        return SkillTechnique.SPLITS
    if len(move.holes) > 1:
        return SkillTechnique.CHORDS
    if move.alteration is Alteration.OVERBLOW:
        return SkillTechnique.OVERBLOWS
    if move.alteration is Alteration.OVERDRAW:
        return SkillTechnique.OVERDRAWS
    # how far the note is under the natural one at its deepest, glides included
    depth = -move.semitones - min(0.0, choice.attack_semitones, choice.fall_semitones)
    if depth <= 0:
        return SkillTechnique.PLAIN
    if move.breath is Breath.BLOW:
        return SkillTechnique.BLOW_BENDS
    return SkillTechnique.HALF_BENDS if depth < HALF_STEP else SkillTechnique.DEEP_BENDS


def at_tempo(phrase: Phrase, factor: float) -> Phrase:
    """A phrase at another tempo, ``factor`` times the one it has."""
    return replace(phrase, tempos=tuple(Tempo(one.onset, one.bpm * factor) for one in timing_of(phrase).tempos))


def played_at(route: Route, factor: float, *, level: str) -> Route:
    """A route as it is, its effort reckoned anew for a level at a share of its tempo."""
    return with_moves(replace(route, level=level, phrase=at_tempo(route.phrase, factor)), {})


def demands_of(route: Route, factor: float = 1.0) -> PlayedDemands:
    """What the notes of a route demand when it is played at a share of its tempo.

    factor : 1 for the written tempo.
    """
    priced = played_at(route, factor, level=skill_settings().told.level)
    found = [
        (index, TECHNIQUES.index(technique), one.effort.total)
        for index, one in enumerate(priced.events)
        if (technique := technique_of(one.choice)) is not None
    ]
    table = np.array(found, dtype=np.float64).reshape(-1, 3)
    return PlayedDemands(table[:, 0].astype(np.intp), table[:, 1].astype(np.intp), table[:, 2])
