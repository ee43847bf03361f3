"""Notations of a MusicXML note: bends, slides, vibrato, accents, and what a phrase does not hold.

String bends (MusicXML 4.0, <bend>): the note's pitch is the fretted one; <bend-alter> gives semitones, negative for
releases and pre-bends, told apart by <release> and <pre-bend>. On a wind instrument (a harmonica score read back)
the pitch is the one that sounds, and bends say only how it is reached and left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.errors import Place
from reedpath.readers.musicxml.numbers import number_in, text_of, whole_in

# semitones; no instrument here bends further. Ours
_WIDEST_BEND = 24
# semitones of slides whose depth a score does not say (scoop, plop, doit, fall-off); common practice, no source
_OPEN_SLIDE = 2
_SLIDES_IN = {"scoop": -_OPEN_SLIDE, "plop": _OPEN_SLIDE}
_SLIDES_OUT = {"doit": _OPEN_SLIDE, "falloff": -_OPEN_SLIDE}
_ACCENTS = frozenset({"accent", "strong-accent", "stress"})
# what is left out, by element: kinds of `LeftOut`
_LEFT_OUT = {
    "staccato": "staccato",
    "staccatissimo": "staccato",
    "spiccato": "staccato",
    "trill-mark": "trills",
    "turn": "turns",
    "delayed-turn": "turns",
    "inverted-turn": "turns",
    "mordent": "mordents",
    "inverted-mordent": "mordents",
    "shake": "shakes",
    "tremolo": "tremolos",
    "schleifer": "slides-of-graces",
    "fermata": "fermatas",
    "arpeggiate": "arpeggios",
    "hammer-on": "hammer-ons",
    "pull-off": "pull-offs",
    "tap": "taps",
    "harmonic": "harmonics",
    "slur": "slurs",
}
# of these, what is written at both of the notes that it joins
_JOINING = frozenset({"hammer-on", "pull-off", "slur"})


@dataclass(slots=True)
class Notations:
    """What stands on one note.

    string, fret : of a tablature; None without one.
    pre_bend, bends : semitones, as in `reedpath.readers.bars.Note`.
    slide_starts, slide_stops : numbers of slides that begin and end here.
    slide_in, slide_out : semitones of a slide that comes from or goes to no other note.
    left_out : kinds of `LeftOut` that stand here.
    """

    string: int | None = None
    fret: int | None = None
    pre_bend: Fraction = Fraction(0)
    bends: tuple[Fraction, ...] = ()
    accent: bool = False
    vibrato: bool = False
    tied_on: bool = False
    slide_starts: list[str] = field(default_factory=list)
    slide_stops: list[str] = field(default_factory=list)
    slide_in: int = 0
    slide_out: int = 0
    left_out: list[str] = field(default_factory=list)

    def note(self, kind: str) -> None:
        """Add to what is left out."""
        self.left_out.append(kind)


def _bend_breath(bend: Element, alter: Fraction, said: Notations) -> None:
    """A bend of a wind instrument: the note's pitch is the one that sounds, a pre-bend only how it is reached."""
    if bend.find("release") is not None:
        said.pre_bend, said.bends = said.pre_bend - abs(alter), (*said.bends, abs(alter))
    elif bend.find("pre-bend") is None:
        said.bends = (*said.bends, alter)


def _bend_string(bend: Element, alter: Fraction, said: Notations) -> None:
    bar = text_of(bend, "with-bar")
    if bend.find("pre-bend") is not None:
        said.pre_bend = abs(alter)
    elif bend.find("release") is not None:
        said.bends = (*said.bends, -abs(alter))
    elif bar == "scoop":
        said.pre_bend, said.bends = said.pre_bend - abs(alter), (*said.bends, abs(alter))
    elif bar == "dip":
        said.note("bar-dips")
    else:
        said.bends = (*said.bends, alter)


def _read_technical(technical: Element, said: Notations, *, is_blown: bool, where: Place) -> None:
    for element in technical:
        if element.tag == "bend":
            alter = number_in(element, "bend-alter", -_WIDEST_BEND, _WIDEST_BEND, where=where)
            if alter:
                (_bend_breath if is_blown else _bend_string)(element, alter, said)
        else:
            _leave_out(element, said)
    said.string = whole_in(technical, "string", 1, 24, where=where) or said.string
    fret = whole_in(technical, "fret", 0, 48, where=where)
    said.fret = said.fret if fret is None else fret


def _read_articulations(articulations: Element, said: Notations) -> None:
    for element in articulations:
        if element.tag in _ACCENTS:
            said.accent = True
        elif element.tag in _SLIDES_IN:
            said.slide_in = _SLIDES_IN[element.tag]
        elif element.tag in _SLIDES_OUT:
            said.slide_out = _SLIDES_OUT[element.tag]
        else:
            _leave_out(element, said)


def _read_ornaments(ornaments: Element, said: Notations, waves: set[str]) -> None:
    """Trills and the like; a wavy line without a trill is a vibrato, from its start to its stop."""
    is_trill = ornaments.find("trill-mark") is not None
    for element in ornaments:
        if element.tag == "wavy-line" and not is_trill:
            number = element.get("number", "1")
            if element.get("type") == "start":
                waves.add(number)
            elif element.get("type") == "stop":
                waves.discard(number)
            said.vibrato = True
        else:
            _leave_out(element, said)


def _read_slide(element: Element, said: Notations) -> None:
    number = f"{element.tag} {element.get('number', '1')}"
    if element.get("type") == "start":
        said.slide_starts.append(number)
    elif element.get("type") == "stop":
        said.slide_stops.append(number)


def _leave_out(element: Element, said: Notations) -> None:
    """What joins two notes counts once, at the first."""
    if element.tag in _LEFT_OUT and (element.tag not in _JOINING or element.get("type") == "start"):
        said.note(_LEFT_OUT[element.tag])


def read_notations(note: Element, waves: set[str], *, is_blown: bool, where: Place) -> Notations:
    """What the notations of a note say.

    waves : numbers of the wavy lines that are open; kept from note to note.
    is_blown : whether a wind instrument plays it.
    """
    said = Notations(vibrato=bool(waves))
    for element in note.iterfind("notations/*"):
        if element.tag == "technical":
            _read_technical(element, said, is_blown=is_blown, where=where)
        elif element.tag == "articulations":
            _read_articulations(element, said)
        elif element.tag == "ornaments":
            _read_ornaments(element, said, waves)
        elif element.tag in ("slide", "glissando"):
            _read_slide(element, said)
        elif element.tag == "tied":
            said.tied_on = said.tied_on or element.get("type") in ("start", "continue")
        else:
            _leave_out(element, said)
    if note.find("lyric") is not None:
        said.note("lyrics")
    if any(tie.get("type") == "start" for tie in note.iterfind("tie")):
        said.tied_on = True
    return said
