"""MusicXML 4.0 and earlier (W3C, 2021), plain and compressed, read by music21 behind a gate of our own.

The document is parsed within limits and without entities (`gate`, `container`), the chosen part written anew with
what music21 is to read (`cleaning`), and music21's bars and notes joined with what it would not carry over:
string bends, slides, endings, swing, tablature (`scoring`).

Options: ``part`` (identity, name, or number from 1), ``staff`` and ``voice`` (one of the part's only).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from xml.etree.ElementTree import Element

from reedpath.phrase import Phrase
from reedpath.pitch import Key
from reedpath.readers.bars import Bar
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.limits import Limits
from reedpath.readers.musicxml.cleaning import CleanPart, Wanted, clean_part
from reedpath.readers.musicxml.container import ZIP_MARK, unpack_score
from reedpath.readers.musicxml.gate import parse_xml
from reedpath.readers.musicxml.score_parts import choose_part, score_parts, title_of
from reedpath.readers.musicxml.scoring import bars_of
from reedpath.readers.musicxml.signposts import settle_codas
from reedpath.readers.musicxml.staves import twin_staff
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option, Reader

__all__ = ["READER", "read_musicxml", "sniff_musicxml"]

# steps of the circle of fifths from the major tonic of a signature to that of each mode; by definition of the modes
_MODE_FIFTHS = {
    "major": 0,
    "ionian": 0,
    "mixolydian": 1,
    "dorian": 2,
    "minor": 3,
    "aeolian": 3,
    "phrygian": 4,
    "locrian": 5,
    "lydian": -1,
}
_MINOR_THIRD = frozenset({"minor", "aeolian", "dorian", "phrygian", "locrian"})


def sniff_musicxml(data: bytes) -> float:
    """How sure it is that a source is MusicXML, 0 to 1: by its root element or the container in its archive."""
    if data.startswith(ZIP_MARK):
        return 1.0 if b"META-INF/container.xml" in data else 0.4
    head = data[:8192].replace(b"\0", b"")
    if b"<score-partwise" in head or b"<score-timewise" in head:
        return 1.0
    return 0.4 if head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").startswith((b"<?xml", b"<!DOCTYPE")) else 0.0


def _wanted(measures: Sequence[Element], staff: Option | None, voice: Option | None, omissions: Omissions) -> Wanted:
    if staff is not None or voice is not None:
        return Wanted("" if staff is None else str(staff).strip(), "" if voice is None else str(voice).strip())
    twins = twin_staff(measures)
    if twins is None:
        return Wanted()
    omissions.note("twin-staff", staff=twins[1])
    return Wanted(without_staff=twins[1])


def _last_pitch_class(bars: Sequence[Bar]) -> int | None:
    notes = [(note.onset, -note.midi) for bar in bars for note in bar.notes]
    if not notes:
        return None
    last = next(bar for bar in reversed(bars) if bar.notes)
    return -max((note.onset, -note.midi) for note in last.notes)[1] % 12


def _key(clean: CleanPart, bars: Sequence[Bar], omissions: Omissions) -> Key | None:
    """The first key signature, at sounding pitch.

    Where it names no mode, the key is minor when the phrase ends on the minor tonic, else major.
    """
    keys = [(measure.key, measure.place) for measure in clean.measures if measure.key is not None]
    if not keys:
        return None
    for (before, _), (after, place) in pairwise(keys):
        if after != before:
            omissions.note("key-changes", place)
    fifths, mode = keys[0][0]
    shift = clean.marks[0].shift if clean.marks else 0
    if mode not in _MODE_FIFTHS:
        minor_tonic = (7 * (fifths + 3) + shift) % 12
        mode = "minor" if _last_pitch_class(bars) == minor_tonic else "major"
    tonic = (7 * (fifths + _MODE_FIFTHS[mode]) + shift) % 12
    return Key(tonic, "minor" if mode in _MINOR_THIRD else "major")


def _swing(clean: CleanPart, omissions: Omissions) -> Fraction:
    found = [(measure.posts.swing, measure.place) for measure in clean.measures if measure.posts.swing]
    for (before, _), (after, place) in pairwise(found):
        if after != before:
            omissions.note("swing-changes", place)
    return found[0][0] or Fraction(1) if found else Fraction(1)


def read_musicxml(
    data: bytes,
    /,
    *,
    limits: Limits,
    part: Option | None = None,
    staff: Option | None = None,
    voice: Option | None = None,
) -> Phrase:
    """The phrase of one part of a score; see the module for the options.

    Raises
    ------
    ReadError
        Naming the line of a document that is not well formed or not safe, or the bar of a wrong number.
    """
    limits.check_size(data)
    if data.startswith(ZIP_MARK):
        data = unpack_score(data, limits=limits)
    root = parse_xml(data, limits=limits)
    omissions = Omissions()
    parts = score_parts(root)
    chosen = choose_part(parts, part, omissions)
    if chosen is None or not chosen.measures:
        return Phrase((), title=title_of(root), left_out=omissions.left_out())
    wanted = replace(_wanted(chosen.measures, staff, voice, omissions), is_blown=chosen.is_blown)
    conductor = parts[0].measures if chosen is not parts[0] else ()
    clean = clean_part(chosen.measures, wanted, limits=limits, omissions=omissions, conductor=conductor)
    settle_codas([measure.posts for measure in clean.measures])
    bars = bars_of(clean, omissions)
    heading = Heading(title_of(root), _key(clean, bars, omissions), _swing(clean, omissions))
    return build_phrase(bars, heading, limits=limits, omissions=omissions)


READER = Reader(
    name="musicxml",
    title="MusicXML",
    suffixes=(".musicxml", ".xml", ".mxl"),
    sniff=sniff_musicxml,
    read=read_musicxml,
    options={
        "part": "identity, name or number of the part",
        "staff": "number of the staff",
        "voice": "number of the voice",
    },
)
