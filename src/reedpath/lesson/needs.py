"""What several lessons ask for together: which harps to own, what overbends ask of them, which techniques."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reedpath.harp import Alteration, Harp
from reedpath.lesson.model import Lesson
from reedpath.lesson.overbend_advice import overbends_of
from reedpath.lesson.pieces import LessonOfPieces, phrases_taught
from reedpath.lesson.techniques import PlayingTechnique, techniques_of


class HarpNeed(Struct, frozen=True):
    """A harp and the lessons that are played on it, by their places."""

    harp: Harp
    lessons: tuple[int, ...]


class OverbendNeed(Struct, frozen=True):
    """A hole that a harp has to be set up for, and the lessons that ask it, by their places.

    alteration : an overblow or an overdraw.
    """

    harp: Harp
    hole: int
    alteration: Alteration
    lessons: tuple[int, ...]


class TechniqueNeed(Struct, frozen=True):
    """A technique and the lessons that use it, by their places."""

    technique: PlayingTechnique
    lessons: tuple[int, ...]


class LessonNeeds(Struct, frozen=True):
    """What lessons ask for.

    harps : that of most lessons first; which to own first.
    overbends : by harp in that order, then by hole.
    techniques : in the order of `PlayingTechnique`.
    """

    harps: tuple[HarpNeed, ...]
    overbends: tuple[OverbendNeed, ...]
    techniques: tuple[TechniqueNeed, ...]


def needs_of(lessons: Sequence[Lesson | LessonOfPieces]) -> LessonNeeds:
    """What lessons ask for together; one of several pieces asks for what any of them does."""
    # places as keys, so that each stands once
    harps: dict[Harp, dict[int, None]] = {}
    overbends: dict[tuple[Harp, int, Alteration], dict[int, None]] = {}
    techniques: dict[PlayingTechnique, dict[int, None]] = {}
    for place, lesson in ((place, one) for place, taught in enumerate(lessons) for one in phrases_taught(taught)):
        harp = lesson.route.harp
        harps.setdefault(harp, {})[place] = None
        for move in (each for one in lesson.route.events for each in overbends_of(one)):
            overbends.setdefault((harp, move.holes[0], move.alteration), {})[place] = None
        for used in techniques_of(lesson.route):
            techniques.setdefault(used.technique, {})[place] = None
    order = sorted(harps, key=lambda harp: -len(harps[harp]))
    return LessonNeeds(
        tuple(HarpNeed(harp, tuple(harps[harp])) for harp in order),
        tuple(
            OverbendNeed(*key, tuple(overbends[key]))
            for key in sorted(overbends, key=lambda key: (order.index(key[0]), key[1]))
        ),
        tuple(TechniqueNeed(one, tuple(techniques[one])) for one in PlayingTechnique if one in techniques),
    )
