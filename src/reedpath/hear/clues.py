"""Clues: what speaks for a new note at a moment, every half frame (5 ms), for a whole sound at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.observing import Observations

Float64 = npt.NDArray[np.float64]

# half frames: over which a usual attack and a usual dip are taken (1 s, 2 s)
ATTACK_SPAN, DIP_SPAN = 201, 401
# half frames before and after a moment in which a level is looked for to measure the dip between (80 ms)
DIP_REACH = 16
# half frames over which dips are as deep as their deepest (55 ms)
DIP_SPREAD = 11


@dataclass(frozen=True, slots=True, eq=False)
class Clues:
    """Clues every half frame; `level_db` every frame.

    attack : strength of the attack. usual_attack : its median round about.
    dip_db : how far the level lies under the lower of the two peaks before and after.
    usual_dip_db : its median round about. level_db : of the pitch's harmonics.
    envelope_db : level of the sound.
    """

    attack: Float64
    usual_attack: Float64
    dip_db: Float64
    usual_dip_db: Float64
    level_db: Float64
    envelope_db: Float64


def _dips(level: Float64) -> Float64:
    from scipy.ndimage import maximum_filter1d

    before = maximum_filter1d(level, DIP_REACH + 1, origin=DIP_REACH // 2)
    after = maximum_filter1d(level, DIP_REACH + 1, origin=-(DIP_REACH // 2))
    return np.asarray(np.minimum(before, after) - level)


def clues_of(seen: Observations) -> Clues:
    """The clues in what was seen."""
    from scipy.ndimage import maximum_filter1d, median_filter

    attack = seen.attack.astype(np.float64)
    envelope = seen.envelope_db.astype(np.float64)
    dips = _dips(envelope)
    return Clues(
        attack=attack,
        usual_attack=median_filter(attack, ATTACK_SPAN, mode="nearest"),
        dip_db=dips,
        usual_dip_db=median_filter(maximum_filter1d(dips, DIP_SPREAD), DIP_SPAN, mode="nearest"),
        level_db=seen.level_db.astype(np.float64),
        envelope_db=envelope,
    )
