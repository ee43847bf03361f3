"""Phrases for tests, built from note names; invented, never a proof of anything about the world."""

from __future__ import annotations

from fractions import Fraction

from reedpath.arrange import Route
from reedpath.harp import Alteration, Breath
from reedpath.phrase import Event, Ornaments, Phrase, Tempo
from reedpath.pitch import Key, parse_midi

__all__ = ["line_of", "short_tab"]


def line_of(
    notes: str, *, beats: Fraction = Fraction(1, 2), bpm: float = 100.0, key: Key | None = None, **ornaments: object
) -> Phrase:
    """Notes one after another, all of one length; "C4+E4" strikes two at once, "-" rests; ornaments on the last."""
    events, onset = [], Fraction(0)
    for name in notes.split():
        if name != "-":
            events.append(Event(onset, beats, tuple(sorted(parse_midi(one) for one in name.split("+")))))
        onset += beats
    if ornaments:
        last = events[-1]
        events[-1] = Event(last.onset, last.duration, last.midi, Ornaments(**ornaments))
    return Phrase(tuple(events), key=key, tempos=(Tempo(Fraction(0), bpm),))


def short_tab(route: Route) -> str:
    """A route in the letters of the trade facts: 4b, 3d'', 6o; several holes joined by a dash, * for a stand-in."""
    words = []
    for one in route.events:
        move = one.choice.move
        if move is None:
            words.append("silent")
            continue
        sign = "b" if move.breath is Breath.BLOW else "d"
        if move.alteration.is_overbend:
            sign = "o"
        bend = "'" * -move.semitones if move.alteration is Alteration.BEND else ""
        changed = "*" if one.choice.changes else ""
        words.append("-".join(map(str, move.holes)) + sign + bend + changed)
    return " ".join(words)
