"""Marks on a MusicXML note: bends, slides, vibrato, accents, and what a phrase does not hold.

String bends (MusicXML 4.0, <bend>): the note's pitch is the fretted one; <bend-alter> gives semitones, negative for
releases and pre-bends, told apart by <release> and <pre-bend>. On a wind instrument (a harmonica score read back)
the pitch is the one that sounds, and bends say only how it is reached and left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.readers.musicxml.numbers import number_in, whole_in
from reedpath.readers.omissions import Omissions

__all__ = ["Mark", "read_marks"]

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


@dataclass(slots=True)
class Mark:
    """What stands on one note.

    is_blown : whether a wind instrument plays it.
    shift : semitones from written to sounding pitch; cents : beside its MIDI number.
    string, fret : of a tablature; None without one.
    slide_starts, slide_stops : numbers of slides that begin and end here.
    slide_in, slide_out : semitones of a slide that comes from or goes to no other note.
    graces : sounding MIDI numbers of the grace notes before it.
    bent_grace : semitones by which a grace note before is bent into this one; slid_grace : its MIDI number when
        it slides into this one.
    """

    place: str
    voice: str = ""
    is_blown: bool = False
    shift: int = 0
    cents: float = 0.0
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
    graces: list[int] = field(default_factory=list)
    bent_grace: Fraction = Fraction(0)
    slid_grace: int | None = None


def _read_breath_bend(bend: Element, alter: Fraction, mark: Mark) -> None:
    """A bend of a wind instrument: the note's pitch is the one that sounds, a pre-bend only how it is reached."""
    if bend.find("release") is not None:
        mark.pre_bend, mark.bends = mark.pre_bend - abs(alter), (*mark.bends, abs(alter))
    elif bend.find("pre-bend") is None:
        mark.bends = (*mark.bends, alter)


def _read_bend(bend: Element, mark: Mark, omissions: Omissions) -> None:
    alter = number_in(bend, "bend-alter", -_WIDEST_BEND, _WIDEST_BEND, where=mark.place)
    if not alter:
        return
    if mark.is_blown:
        _read_breath_bend(bend, alter, mark)
        return
    bar = bend.find("with-bar")
    if bend.find("pre-bend") is not None:
        mark.pre_bend = abs(alter)
    elif bend.find("release") is not None:
        mark.bends = (*mark.bends, -abs(alter))
    elif bar is not None and (bar.text or "").strip() == "scoop":
        mark.pre_bend, mark.bends = mark.pre_bend - abs(alter), (*mark.bends, abs(alter))
    elif bar is not None and (bar.text or "").strip() == "dip":
        omissions.note("bar-dips", mark.place)
    else:
        mark.bends = (*mark.bends, alter)


def _read_technical(technical: Element, mark: Mark, omissions: Omissions) -> None:
    for element in technical:
        if element.tag == "bend":
            _read_bend(element, mark, omissions)
        elif element.tag in ("hammer-on", "pull-off"):
            if element.get("type") == "start":
                omissions.note(_LEFT_OUT[element.tag], mark.place)
        elif element.tag in _LEFT_OUT:
            omissions.note(_LEFT_OUT[element.tag], mark.place)
    mark.string = whole_in(technical, "string", 1, 24, where=mark.place) or mark.string
    fret = whole_in(technical, "fret", 0, 48, where=mark.place)
    mark.fret = mark.fret if fret is None else fret


def _read_articulations(articulations: Element, mark: Mark, omissions: Omissions) -> None:
    for element in articulations:
        if element.tag in _ACCENTS:
            mark.accent = True
        elif element.tag in _SLIDES_IN:
            mark.slide_in = _SLIDES_IN[element.tag]
        elif element.tag in _SLIDES_OUT:
            mark.slide_out = _SLIDES_OUT[element.tag]
        elif element.tag in _LEFT_OUT:
            omissions.note(_LEFT_OUT[element.tag], mark.place)


def _read_ornaments(ornaments: Element, mark: Mark, omissions: Omissions, waves: set[str]) -> None:
    """Trills and the like; a wavy line without a trill is a vibrato, from its start to its stop."""
    is_trill = ornaments.find("trill-mark") is not None
    for element in ornaments:
        if element.tag == "wavy-line" and not is_trill:
            number = element.get("number", "1")
            if element.get("type") == "start":
                waves.add(number)
            elif element.get("type") == "stop":
                waves.discard(number)
            mark.vibrato = True
        elif element.tag in _LEFT_OUT:
            omissions.note(_LEFT_OUT[element.tag], mark.place)


def _read_slide(element: Element, mark: Mark) -> None:
    number = f"{element.tag} {element.get('number', '1')}"
    if element.get("type") == "start":
        mark.slide_starts.append(number)
    elif element.get("type") == "stop":
        mark.slide_stops.append(number)


def read_marks(note: Element, mark: Mark, omissions: Omissions, waves: set[str]) -> None:
    """Take in the notations of a note.

    waves : numbers of the wavy lines that are open; kept from note to note.
    """
    mark.vibrato = bool(waves)
    for element in note.iterfind("notations/*"):
        if element.tag == "technical":
            _read_technical(element, mark, omissions)
        elif element.tag == "articulations":
            _read_articulations(element, mark, omissions)
        elif element.tag == "ornaments":
            _read_ornaments(element, mark, omissions, waves)
        elif element.tag in ("slide", "glissando"):
            _read_slide(element, mark)
        elif element.tag == "tied" and element.get("type") in ("start", "continue"):
            mark.tied_on = True
        elif element.tag == "slur":
            if element.get("type") == "start":
                omissions.note(_LEFT_OUT["slur"], mark.place)
        elif element.tag in _LEFT_OUT:
            omissions.note(_LEFT_OUT[element.tag], mark.place)
    if note.find("lyric") is not None:
        omissions.note("lyrics", mark.place)
    if any(tie.get("type") == "start" for tie in note.iterfind("tie")):
        mark.tied_on = True
