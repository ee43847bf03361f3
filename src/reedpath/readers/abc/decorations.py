"""Decorations of ABC (ABC 2.1, sections 4.14 and 4.16): which are played, and which are left out, and as what."""

from __future__ import annotations

# those that accent a note, and those that say where playing goes on, by the fields of `OrderSigns`
ACCENTS = frozenset({">", "accent", "emphasis"})
END_SIGNS = {"D.C.": "da_capo", "dacapo": "da_capo", "D.S.": "dal_segno", "dacoda": "to_coda", "fine": "fine"}
# decorations (section 4.14) that change neither pitch nor order, and the kinds of `LeftOut` that they are; brackets
# that open and close a long one are gone
LEFT_OUT = {
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
# decorations that letters stand for unless a U: field says otherwise (section 4.16)
LETTERS = {
    ".": "staccato",
    "~": "roll",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
}
