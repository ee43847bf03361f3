"""Decorations of ABC (2.1, section 4.14) that change neither pitch nor order, by what they are left out as."""

from __future__ import annotations

from reedpath.readers.omissions import Omissions

__all__ = ["note_decoration"]

# kinds of `LeftOut`, by decoration; brackets that open and close a long one are gone
_KINDS = {
    "trill": "trills",
    "lowermordent": "mordents",
    "uppermordent": "mordents",
    "mordent": "mordents",
    "pralltriller": "mordents",
    "roll": "rolls",
    "turn": "turns",
    "turnx": "turns",
    "invertedturn": "turns",
    "invertedturnx": "turns",
    "arpeggio": "arpeggios",
    "fermata": "fermatas",
    "invertedfermata": "fermatas",
    "staccato": "staccato",
    "wedge": "staccato",
    "upbow": "bowing",
    "downbow": "bowing",
    "crescendo": "dynamics",
    "diminuendo": "dynamics",
    "<": "dynamics",
    ">": "dynamics",
    **dict.fromkeys(("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz"), "dynamics"),
    **dict.fromkeys("012345", "fingering"),
    "annotations": "annotations",
}


def note_decoration(name: str, place: str, omissions: Omissions) -> None:
    """Count a decoration among what is left out; one that the standard does not name is told by its own name."""
    if name in _KINDS:
        omissions.note(_KINDS[name], place)
    else:
        omissions.note("decoration", place, name=name)
