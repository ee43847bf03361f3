"""Notices: what is to be said of a recording itself, before or in place of an answer to its music."""

from __future__ import annotations

from enum import StrEnum

from reedpath.hear import Condition
from reedpath.listen.playthrough import LinedUp

__all__ = ["Notice", "notices_of"]

# share of full scale under whose peak a recording is told to be soft (-34 dB); from memory
SOFT_PEAK = 0.02
# seconds from which a recording is told to be long
LONG_SECONDS = 20 * 60.0
# share of a recording that must be filled with sure notes for it to be other music rather than noise; from memory
LEAST_MUSIC, SURE = 0.1, 0.7


class Notice(StrEnum):
    """Something to be said of a recording."""

    EMPTY = "empty"  # there is no sound in it at all
    SILENT = "silent"  # nothing but silence
    QUIET = "quiet"  # too soft
    CLIPPED = "clipped"  # too loud: cut off
    NARROW = "narrow"  # a rate that leaves out overtones
    LONG = "long"  # very long
    NO_PITCH = "no pitch"  # sound, but no tone: drums, noise
    COMPANY = "company"  # other instruments sound along
    OTHER_MUSIC = "other music"  # tones, but not the lesson's phrase
    NOTHING_ASKED = "nothing asked"  # the lesson has nothing to play


def _of_music(lined_up: LinedUp, condition: Condition) -> list[Notice]:
    """What is to be said where no play-through is found."""
    if lined_up.play_throughs:
        return []
    if not len(lined_up.score):
        return [Notice.NOTHING_ASKED]
    sure = sum(note.duration_seconds for note in lined_up.hearing.notes if note.confidence > SURE)
    music = not condition.without_pitch and sure > LEAST_MUSIC * condition.duration_seconds
    return [Notice.OTHER_MUSIC if music else Notice.NO_PITCH]


def notices_of(lined_up: LinedUp, condition: Condition, *, company: bool = False) -> tuple[Notice, ...]:
    """What is to be said of a recording that is lined up with a route.

    company : whether other instruments are heard in it.
    """
    if not condition.rate or not condition.duration_seconds:
        return (Notice.EMPTY,)
    if condition.silent:
        return (Notice.SILENT,)
    said = {
        Notice.QUIET: condition.peak < SOFT_PEAK,
        Notice.CLIPPED: condition.clipped,
        Notice.NARROW: condition.low_rate,
        Notice.LONG: condition.duration_seconds > LONG_SECONDS,
        Notice.COMPANY: company,
    }
    return (*(notice for notice, holds in said.items() if holds), *_of_music(lined_up, condition))
