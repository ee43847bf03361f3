"""A phrase as plain data: exact beats as strings of fractions, so that nothing is lost."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from reedpath.phrase.events import Event, Phrase
from reedpath.phrase.left_out import LeftOut

__all__ = ["left_out_as_data", "phrase_as_data"]


def _event(event: Event) -> dict[str, Any]:
    ornaments = event.ornaments
    return {
        "onset_beats": str(event.onset),
        "duration_beats": str(event.duration),
        "midi": list(event.midi),
        "cents": list(event.cents),
        "ornaments": {
            "bend_in_semitones": str(ornaments.bend_in),
            "release_semitones": str(ornaments.release),
            "slide_from_midi": ornaments.slide_from,
            "slide_to_midi": ornaments.slide_to,
            "vibrato": ornaments.vibrato,
            "accent": ornaments.accent,
            "graces_midi": list(ornaments.graces),
        },
        "place": event.place,
        "grace": event.grace,
    }


def left_out_as_data(left_out: Iterable[LeftOut]) -> list[dict[str, Any]]:
    """What a phrase does not hold as plain data: kind and values for programs, ``what`` in English for people."""
    return [
        {"kind": one.kind, "values": dict(one.values), "what": one.what, "place": one.place, "count": one.count}
        for one in left_out
    ]


def phrase_as_data(phrase: Phrase) -> dict[str, Any]:
    """A phrase as plain data; `phrase_from_data` gives it back."""
    return {
        "title": phrase.title,
        "key": {"tonic": phrase.key.tonic, "mode": phrase.key.mode} if phrase.key else None,
        "swing": str(phrase.swing),
        "pickup_beats": str(phrase.pickup),
        "metres": [{"onset_beats": str(m.onset), "count": m.count, "unit": m.unit} for m in phrase.metres],
        "tempos": [{"onset_beats": str(t.onset), "bpm": t.bpm} for t in phrase.tempos],
        "parts": [{"label": p.label, "onset_beats": str(p.onset), "end_beats": str(p.end)} for p in phrase.parts],
        "repeats": [{"onset_beats": str(r.onset), "end_beats": str(r.end), "times": r.times} for r in phrase.repeats],
        "left_out": left_out_as_data(phrase.left_out),
        "events": [_event(event) for event in phrase.events],
    }
