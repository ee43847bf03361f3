"""Phrases typed by hand, for tests.

    phrase_of("c4 1/4 d4 e4^1 1/8 | r 1/4 g4+b4~ 1/2", key="C")

A token is a note (several joined with ``+``), or ``r`` for a rest; a fraction after it is its length as a
share of a whole note and holds for what follows (1/4 to begin with). Marks after the note: ``~`` vibrato,
``!`` accent, ``^k`` bent in from k semitones under, ``_k`` released by k, ``<c4>`` a grace note before it.
Bar lines are only for the eye.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from reedpath.phrase import Event, Ornaments, Phrase
from reedpath.pitch import parse_key, parse_midi

NOTE = re.compile(r"(?P<graces>(?:<[^>]+>)*)(?P<names>[a-gA-G][#b]?\d(?:\+[a-gA-G][#b]?\d)*)(?P<marks>[~!^_\d/]*)")


def _ornaments(match: re.Match[str]) -> Ornaments:
    marks = match["marks"]
    bend, release = re.search(r"\^([\d/]+)", marks), re.search(r"_([\d/]+)", marks)
    return Ornaments(
        bend_in=Fraction(bend[1]) if bend else Fraction(0),
        release=Fraction(release[1]) if release else Fraction(0),
        vibrato="~" in marks,
        accent="!" in marks,
        graces=tuple(parse_midi(name) for name in re.findall(r"<([^>]+)>", match["graces"])),
    )


def phrase_of(text: str, *, key: str | None = None, **fields: Any) -> Phrase:
    """The phrase typed in ``text``; other fields of a phrase by their names."""
    tokens = text.replace("|", " ").split()
    onset, length = Fraction(0), Fraction(1)
    events: list[Event] = []
    for index, token in enumerate(tokens):
        if re.fullmatch(r"\d+/\d+|\d+", token):
            continue
        if index + 1 < len(tokens) and re.fullmatch(r"\d+/\d+|\d+", tokens[index + 1]):
            length = 4 * Fraction(tokens[index + 1])
        if token != "r":
            match = NOTE.fullmatch(token)
            if match is None:
                raise ValueError(f"no note: {token!r}")
            midi = tuple(sorted(parse_midi(name) for name in match["names"].split("+")))
            events.append(Event(onset, length, midi, _ornaments(match)))
        onset += length
    return Phrase(tuple(events), key=parse_key(key) if key else None, **fields)
