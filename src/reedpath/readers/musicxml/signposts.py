"""Signposts: what directions and bar lines of a MusicXML measure say of order, tempo, swing and parts."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from reedpath.readers.bars import Signs
from reedpath.readers.musicxml.numbers import number_in, text_of
from reedpath.readers.omissions import Omissions
from reedpath.readers.swing_words import swing_of_words

__all__ = ["Signposts", "read_barline", "read_direction", "settle_codas"]

# beats (quarter notes) of the units of a metronome mark; MusicXML 4.0, note-type-value
_UNITS = {
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
}
# quarter notes a minute; ours: outside of it a mark is no tempo
_BPM_RANGE = (1.0, 1000.0)
# times a section may be played; ours
_MOST_TIMES = 64
# words of jumps where a file gives them no sound element; common practice, no source
_JUMP_WORDS = (
    ("da_capo", re.compile(r"^\s*(d\.?\s?c\.?\b|da\s+capo)", re.IGNORECASE)),
    ("dal_segno", re.compile(r"^\s*(d\.?\s?s\.?\b|dal\s+segno)", re.IGNORECASE)),
    ("to_coda", re.compile(r"^\s*(to\s+coda|al?\s+coda\s*$)", re.IGNORECASE)),
    ("fine", re.compile(r"^\s*fine\s*\.?\s*$", re.IGNORECASE)),
)
_SOUND_SIGNS = {
    "segno": "segno",
    "coda": "coda",
    "dacapo": "da_capo",
    "dalsegno": "dal_segno",
    "tocoda": "to_coda",
    "fine": "fine",
}


@dataclass(slots=True)
class Signposts:
    """What a measure says beside its notes, while it is read.

    endings : in force in this measure; open_endings : in force in the next one.
    coda_signs : coda signs that do not say whether one jumps from them or to them.
    bpm, label : of the last direction read, None where it gave none.
    """

    signs: Signs = field(default_factory=Signs)
    endings: frozenset[int] = frozenset()
    open_endings: frozenset[int] = frozenset()
    coda_signs: int = 0
    swing: Fraction | None = None
    bpm: float | None = None
    label: str | None = None

    def mark(self, name: str) -> None:
        """Set one of the signs."""
        self.signs = replace(self.signs, **{name: True})  # type: ignore[arg-type]


def _bpm_of_metronome(metronome: Element) -> float | None:
    unit = _UNITS.get(text_of(metronome, "beat-unit"))
    number = re.search(r"\d{1,4}(?:\.\d{1,3})?", text_of(metronome, "per-minute"))
    if unit is None or number is None:
        return None
    dots = min(len(metronome.findall("beat-unit-dot")), 3)
    return float(number[0]) * float(unit * (2 - Fraction(1, 2**dots)))


def _is_swing_equation(metronome: Element) -> bool:
    """Whether a mark equates two eighths with a quarter and an eighth of a triplet."""
    return metronome.find("metronome-note/metronome-tuplet") is not None


def _read_swing(sound: Element, posts: Signposts, omissions: Omissions, where: str) -> None:
    swing = sound.find("swing")
    if swing is None:
        return
    if text_of(swing, "swing-type") not in ("", "eighth"):
        omissions.note("short-swing", where)
    elif swing.find("straight") is not None:
        posts.swing = Fraction(1)
    else:
        first = number_in(swing, "first", 1, 100, where=where)
        second = number_in(swing, "second", 1, 100, where=where)
        if first and second:
            posts.swing = first / second


def _read_sound(sound: Element, posts: Signposts, omissions: Omissions, where: str) -> None:
    for attribute, name in _SOUND_SIGNS.items():
        if sound.get(attribute):
            posts.mark(name)
    if sound.get("forward-repeat") == "yes":
        posts.mark("starts")
    tempo = re.fullmatch(r"\d{1,6}(\.\d{1,9})?", (sound.get("tempo") or "").strip())
    if tempo:
        posts.bpm = float(tempo[0])
    _read_swing(sound, posts, omissions, where)


def _read_words(text: str, posts: Signposts, *, has_sound: bool) -> None:
    swing = swing_of_words(text)
    if swing is not None and posts.swing is None:
        posts.swing = swing
    if not has_sound:
        for name, pattern in _JUMP_WORDS:
            if pattern.search(text):
                posts.mark(name)


def _read_type(kind: Element, posts: Signposts, omissions: Omissions, where: str, *, has_sound: bool) -> None:
    if kind.tag == "rehearsal":
        posts.label = (kind.text or "").strip()[:100] or posts.label
    elif kind.tag == "words":
        _read_words((kind.text or "")[:500], posts, has_sound=has_sound)
    elif kind.tag == "segno" and not has_sound:
        posts.mark("segno")
    elif kind.tag == "coda" and not has_sound:
        posts.coda_signs += 1
    elif kind.tag == "metronome":
        if _is_swing_equation(kind):
            posts.swing = posts.swing or Fraction(2)
        elif posts.bpm is None:
            posts.bpm = _bpm_of_metronome(kind)
    elif kind.tag in ("dynamics", "wedge"):
        omissions.note("dynamics", where)


def read_direction(element: Element, posts: Signposts, omissions: Omissions, *, where: str) -> None:
    """Take in a <direction> or a <sound>; its tempo and label are left in ``posts``."""
    posts.bpm = posts.label = None
    sounds = [element] if element.tag == "sound" else element.findall("sound")
    for sound in sounds:
        _read_sound(sound, posts, omissions, where)
    has_sound = any(sound.get(attribute) for sound in sounds for attribute in _SOUND_SIGNS)
    for kind in element.iterfind("direction-type/*"):
        _read_type(kind, posts, omissions, where, has_sound=has_sound)
    if posts.bpm is not None and not _BPM_RANGE[0] <= posts.bpm <= _BPM_RANGE[1]:
        omissions.note("strange-tempo", where, bpm=f"{posts.bpm:g}")
        posts.bpm = None


def _ending_numbers(text: str) -> frozenset[int]:
    numbers = (int(number) for number in re.findall(r"\d{1,2}", text[:200]))
    return frozenset(number for number in numbers if 1 <= number <= _MOST_TIMES)


def read_barline(barline: Element, posts: Signposts, *, where: str) -> None:
    """Take in a bar line: repeats and endings."""
    ending = barline.find("ending")
    if ending is not None and ending.get("type") == "start":
        posts.endings = posts.open_endings = _ending_numbers(ending.get("number", ""))
    elif ending is not None:
        posts.open_endings = frozenset()
    repeat = barline.find("repeat")
    if repeat is not None and repeat.get("direction") == "forward":
        posts.mark("starts")
    elif repeat is not None:
        times = repeat.get("times", "2")
        played = int(times) if re.fullmatch(r"\d{1,2}", times) else 2
        posts.signs = replace(posts.signs, times=min(max(played, 2), _MOST_TIMES))
    for name in ("segno", "coda"):
        if barline.find(name) is not None:
            posts.mark(name)


def settle_codas(posts: Sequence[Signposts]) -> None:
    """Where coda signs stand alone: the last is the coda itself, those before are jumped from."""
    bare = [each for each in posts if each.coda_signs]
    if not bare:
        return
    bare[-1].mark("coda")
    for each in bare[:-1]:
        each.mark("to_coda")
