"""Contour: what a stand-in does to the line, as truth lost between two notes.

A melody is known by its ups and downs before all: with octaves chosen note by note a well-known tune was recognised
no better than from its rhythm (Deutsch, Percept. Psychophys. 11, 1972), and moved so that its contour held, as well
as the original or nearly so (Idson & Massaro, ibid. 24, 1978; Dowling & Hollombe, ibid. 21, 1977, find less). So an
interval costs truth where it turns round, or grows into a leap; one that moves as a whole costs nothing. A break at
the end of a phrase, where nobody hears the interval, costs a part of that; and so does a beginning in another octave,
where nothing went before.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.demands import PHRASE_END_SECONDS
from reedpath.arrange.terms import Transition

Points: TypeAlias = NDArray[np.float64]

# semitones by which a note may lie further off than asked before it is heard as a leap: a major third, the widest
# that a neighbour of the scale is sought (weights.toml), and as many again up to a thrown octave
SMALL_SEMITONES, OCTAVE_SEMITONES = 4.0, 12.0


def contour_shares(step: Transition) -> tuple[Points, Points]:
    """Truth that each pair of choices loses by what becomes of the interval between them.

    Of the first choice, and of the second. The note that is not where it was asked to be loses it; of two such, each
    half. What a note has lost already by itself can't be lost again, so that no event ever loses more than 1.
    """
    fit = step.weights.fit
    asked = step.now("asked") - step.was("asked")
    given = step.now("given") - step.was("given")
    turned = 0.5 * np.abs(np.sign(asked) - np.sign(given))
    wider = np.abs(given) - np.abs(asked) - SMALL_SEMITONES
    leap = np.clip(wider / (OCTAVE_SEMITONES - SMALL_SEMITONES), 0.0, 1.0)
    held = np.where(step.gap >= PHRASE_END_SECONDS, fit.across_rest, 1.0)
    broken = (fit.turned * turned + fit.leap * leap) * held * step.linked
    off_before, off = (
        (step.was("given") != step.was("asked")).astype(float),
        np.abs(step.now("given") - step.now("asked")),
    )
    begun = fit.begun * (off > SMALL_SEMITONES) * step.now("sounding")
    broken = np.where(np.isinf(step.gap), begun, broken)
    each = broken / np.maximum(off_before + np.sign(off), 1.0)
    return each * off_before * (1 - step.was("loss")), each * np.sign(off) * (1 - step.now("loss"))


def contour_loss(step: Transition) -> Points:
    """Truth that each pair of choices loses in all by what becomes of the interval between them, 0 to 1."""
    first, second = contour_shares(step)
    loss: Points = first + second
    return loss
