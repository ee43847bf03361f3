"""Heard places: where on the ribbon a page draws what its microphone hears."""

from __future__ import annotations

from typing import Any

from reedpath.arrange import Route
from reedpath.harp import Alteration, Move, reach_of, sound_of
from reedpath.listen import BEND_TOLERANCES
from reedpath.page.drawing.drawing_data import load_measures
from reedpath.page.drawing.strip import level_of
from reedpath.page.web.ribbons import StripPicture
from reedpath.page.web.symbols import MoveSymbols

# semitones from the sound that is asked up to which what is heard is drawn beside it, and not where another sound
# lies; and that are listened for under the lowest sound and over the highest; ours
NEAR_SEMITONES, BEYOND_SEMITONES = 1.5, 1.5


def _places(route: Route, move: Move, strip: StripPicture) -> list[list[float]]:
    """Frequency, hertz, and height on the strip, rows, of each sounding hole of a move."""
    level = level_of(move, load_measures())
    heights = [strip.top_rows + strip.highest_hole - hole - level * strip.semitone_rows for hole in move.holes]
    return [[round(hz, 3), round(y, 3)] for hz, y in zip(sound_of(route.harp, move).hz, heights, strict=True)]


def heard_places(route: Route, strip: StripPicture, signs: MoveSymbols) -> dict[str, Any]:
    """What the script must know to draw a pitch; lengths are rows of the strip, intervals octaves.

    signs : of each sign, the frequency and the height of each of its holes.
    sounds : the same of each natural note and bend of the harp, those that the route plays first.
    lowest, highest : frequencies between which is listened. octave : height of an octave.
    near, right : how far from the sound that is asked a pitch is drawn beside it, and is as asked.
    """
    played = dict.fromkeys(one.move for one in signs.choices if one.move is not None and len(one.move.holes) == 1)
    others = [one for one in reach_of(route.harp.tuning).single if not one.alteration.is_overbend]
    sounds = [
        place
        for move in dict.fromkeys((*played, *others))
        if move.alteration in (Alteration.NATURAL, Alteration.BEND) or move in played
        for place in _places(route, move, strip)
    ]
    beyond = 2.0 ** (BEYOND_SEMITONES / 12.0)
    return {
        "signs": [[] if one.move is None else _places(route, one.move, strip) for one in signs.choices],
        "sounds": sounds,
        "lowest": round(min(hz for hz, _ in sounds) / beyond, 3),
        "highest": round(max(hz for hz, _ in sounds) * beyond, 3),
        "octave": round(12.0 * strip.semitone_rows, 4),
        "near": round(NEAR_SEMITONES / 12.0, 5),
        "right": round(BEND_TOLERANCES[0] / 1200.0, 5),
    }
