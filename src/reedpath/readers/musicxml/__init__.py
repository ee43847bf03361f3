"""MusicXML 4.0 and earlier (W3C, 2021), plain and compressed.

The document is parsed within limits and without entities (`safe_parsing`), a part is chosen (`score_parts`),
and its measures are read as bars of notes (`measures`), with what stands on each note (`notations`), over the staff
(`directions`) and before it (`staves`).

Options: ``part`` (identity, name, or number from 1), ``staff`` and ``voice`` (one of the part's only).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from reedpath.errors import Place
from reedpath.phrase import Phrase
from reedpath.pitch import MODE_FIFTHS, Key
from reedpath.readers.building import Heading, build_phrase
from reedpath.readers.limits import Limits
from reedpath.readers.musicxml.measures import Selection, WrittenPart, read_measures
from reedpath.readers.musicxml.safe_parsing import ZIP_MARK, open_document
from reedpath.readers.musicxml.score_parts import ScorePart, choose_part, score_parts, title_of
from reedpath.readers.musicxml.staves import twin_staff
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option, Reader

__all__ = ["READER", "read_musicxml", "sniff_musicxml"]

# names of MusicXML's modes that are plain major and minor (MusicXML 4.0, mode)
_PLAIN = {"ionian": "major", "aeolian": "minor"}


def sniff_musicxml(data: bytes) -> float:
    """How sure it is that a source is MusicXML, 0 to 1: by its root element or the container in its archive."""
    if data.startswith(ZIP_MARK):
        return 1.0 if b"META-INF/container.xml" in data else 0.4
    head = data[:8192].replace(b"\0", b"")
    if b"<score-partwise" in head or b"<score-timewise" in head:
        return 1.0
    return 0.4 if head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").startswith((b"<?xml", b"<!DOCTYPE")) else 0.0


def _selection(part: ScorePart, staff: Option | None, voice: Option | None, omissions: Omissions) -> Selection:
    if staff is not None or voice is not None:
        named = ["" if each is None else str(each).strip() for each in (staff, voice)]
        return Selection(staff=named[0], voice=named[1], is_blown=part.is_blown)
    twins = twin_staff(part.measures)
    if twins is None:
        return Selection(is_blown=part.is_blown)
    omissions.note("twin-staff", staff=twins[1])
    return Selection(without_staff=twins[1], is_blown=part.is_blown)


def _last_pitch_class(written: WrittenPart) -> int | None:
    """Pitch class of the last note, the lowest one of those that begin last."""
    last = next((bar for bar in reversed(written.bars) if bar.notes), None)
    return max((note.onset, -note.midi, note.midi) for note in last.notes)[2] % 12 if last else None


def _key(written: WrittenPart, omissions: Omissions) -> Key | None:
    """The first key signature, at sounding pitch.

    Where it names no mode, the key is minor when the phrase ends on the minor tonic, else major.
    """
    if not written.keys:
        return None
    for place in _changes(written.keys):
        omissions.note("key-changes", place)
    fifths, mode = written.keys[0][0]
    mode = _PLAIN.get(mode, mode)
    if mode not in MODE_FIFTHS:
        minor_tonic = (7 * (fifths + 3) + written.shift) % 12
        mode = "minor" if _last_pitch_class(written) == minor_tonic else "major"
    return Key((7 * (fifths - MODE_FIFTHS[mode]) + written.shift) % 12, mode)


def _changes(found: Sequence[tuple[object, Place]]) -> list[Place]:
    """Places where something is said otherwise than before."""
    return [place for (before, _), (after, place) in pairwise(found) if after != before]


def _swing(written: WrittenPart, omissions: Omissions) -> Fraction:
    for place in _changes(written.swings):
        omissions.note("swing-changes", place)
    return written.swings[0][0] if written.swings else Fraction(1)


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

    Raises `ReadError`, naming the line of a document that is not well formed or not safe, or the bar of a wrong
    number.
    """
    limits.check_size(data)
    root = open_document(data, limits=limits)
    omissions = Omissions()
    parts = score_parts(root)
    chosen = choose_part(parts, part, omissions)
    if chosen is None or not chosen.measures:
        return Phrase((), title=title_of(root), left_out=omissions.left_out())
    selection = _selection(chosen, staff, voice, omissions)
    conductor = None if chosen is parts[0] else parts[0]
    written = read_measures(chosen, selection, limits=limits, omissions=omissions, conductor=conductor)
    heading = Heading(title_of(root), _key(written, omissions), _swing(written, omissions))
    return build_phrase(written.bars, heading, limits=limits, omissions=omissions)


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
