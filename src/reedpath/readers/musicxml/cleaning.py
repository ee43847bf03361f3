"""Cleaning: a MusicXML part written anew with only what music21 is to read, and the rest noted beside it.

music21 is given bars, notes, rests, chords, voices and the moves between them, each number checked; every note
carries its number in our list of marks as its colour, which music21 hands back. Grace notes, bends, slides,
repeats, tempos and labels are read here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement

from reedpath.errors import ReadError
from reedpath.readers.limits import Limits
from reedpath.readers.musicxml.document import add_pitch, new_document, plain_number
from reedpath.readers.musicxml.marks import Mark, read_marks
from reedpath.readers.musicxml.measures import LONGEST, MOST_DIVISIONS, chords_of, conducted_in, metre_of
from reedpath.readers.musicxml.numbers import number_in, text_of, whole_in
from reedpath.readers.musicxml.signposts import Signposts, read_barline, read_direction
from reedpath.readers.musicxml.staves import Staves, pitch_of
from reedpath.readers.omissions import Omissions

__all__ = ["CleanMeasure", "CleanPart", "Wanted", "clean_part"]

# rests and signs for each note that the limits allow; ours
_GIVEN_PER_NOTE = 3
# measures given to music21 at a time; ours: its time grows with the square of their number
_MEASURES_TOGETHER = 64


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of the part is read: one staff, one voice; empty for all.

    is_blown : whether a wind instrument plays it.
    """

    staff: str = ""
    voice: str = ""
    without_staff: str = ""
    is_blown: bool = False

    def takes(self, staff: str, voice: str) -> bool:
        """Whether a note of this staff and voice is read."""
        return self.staff in ("", staff) and self.voice in ("", voice) and staff != self.without_staff


@dataclass(slots=True)
class CleanMeasure:
    """A measure beside what music21 is given of it.

    metre : in force; None for free metre.
    fifths : of a key signature that begins here, and its mode; None without one.
    signals : tempos (quarter notes a minute) and labels, in the order of their numbers.
    """

    place: str
    metre: tuple[int, int] | None
    posts: Signposts
    key: tuple[int, str] | None = None
    signals: list[float | str] = field(default_factory=list)


@dataclass(slots=True)
class CleanPart:
    """A part ready for music21.

    roots : documents of some measures each; marks : of their notes, by number; measures : what stands beside them.
    tablature : sounding pitch and pitch by string and fret, of notes that have both.
    """

    roots: list[Element] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    measures: list[CleanMeasure] = field(default_factory=list)
    tablature: list[tuple[int, int]] = field(default_factory=list)


class _Cleaner:
    """A part while it is cleaned."""

    def __init__(self, wanted: Wanted, *, limits: Limits, omissions: Omissions) -> None:
        self.wanted = wanted
        self.limits = limits
        self.omissions = omissions
        self.part = Element("part")
        self.clean = CleanPart()
        self.staves = Staves()
        self.divisions = Fraction(1)
        self.metre: tuple[int, int] | None = (4, 4)
        self.endings: frozenset[int] = frozenset()
        self.waves: set[str] = set()
        self.graces: dict[str, list[Mark]] = {}
        self.grace_pitches: dict[str, list[int]] = {}
        self.voices: dict[str, str] = {}
        self.given = 0

    # measures

    def measure(self, source: Element, number: int, conducted: Sequence[tuple[Fraction, Element]]) -> None:
        label = (source.get("number") or str(number)).strip()[:20]
        place = f"bar {label}"
        self.limits.check("bars", number, what="bars", where=place)
        posts = Signposts(endings=self.endings, open_endings=self.endings)
        self.here = CleanMeasure(place, self.metre, posts)
        if len(self.part) >= _MEASURES_TOGETHER or number == 1:
            self._beginnew_document()
        self.target = SubElement(self.part, "measure", number=str(number))
        self._add_divisions(with_metre=len(self.part) == 1)
        for onset, direction in conducted:
            self._take_direction(direction, onset=onset)
        for group in chords_of(source):
            self._take(group)
        self._fill_silence()
        posts.signs = replace(posts.signs, endings=posts.endings)
        self.endings = posts.open_endings
        self.clean.measures.append(self.here)

    def _beginnew_document(self) -> None:
        root, self.part = new_document()
        self.clean.roots.append(root)

    def _add_divisions(self, *, with_metre: bool = False) -> None:
        """Give the divisions, and once a metre shorter than any bar: music21 searches long where bars are short."""
        self._count_given()
        attributes = SubElement(self.target, "attributes")
        SubElement(attributes, "divisions").text = plain_number(self.divisions)
        if with_metre:
            time = SubElement(attributes, "time")
            SubElement(time, "beats").text, SubElement(time, "beat-type").text = "1", "64"

    def _fill_silence(self) -> None:
        """Give an empty measure a rest of its metre; music21 stretches a single rest, so it is given two halves."""
        notes = self.target.findall("note")
        if not notes:
            self._add_rest(self._whole_bar(), "")
            notes = self.target.findall("note")
        if len(notes) == 1 and notes[0].find("rest") is not None:
            length = Fraction(notes[0].findtext("duration", "0")) / 2
            self.target.remove(notes[0])
            self._add_rest(length, "")
            self._add_rest(length, "")

    def _whole_bar(self) -> Fraction:
        """Divisions of a whole bar; four quarters in free metre."""
        count, unit = self.here.metre or (4, 4)
        return Fraction(4 * count, unit) * self.divisions

    def _take(self, group: list[Element]) -> None:
        element = group[0]
        if element.tag == "note":
            self._take_notes(group)
        elif element.tag == "attributes":
            self._take_attributes(element)
        elif element.tag in ("backup", "forward"):
            self._take_move(element)
        elif element.tag in ("direction", "sound"):
            self._take_direction(element)
        elif element.tag == "barline":
            read_barline(element, self.here.posts, where=self.here.place)
        elif element.tag == "harmony":
            self.omissions.note("chord-symbols", self.here.place)

    def _take_attributes(self, element: Element) -> None:
        place = self.here.place
        divisions = number_in(element, "divisions", Fraction(1, 1000), MOST_DIVISIONS, where=place)
        if divisions and divisions != self.divisions:
            self.divisions = divisions
            self._add_divisions()
        for time in element.iterfind("time"):
            self.metre = self.here.metre = metre_of(time, where=place)
        fifths = whole_in(element, "key/fifths", -7, 7, where=place)
        if fifths is not None:
            self.here.key = (fifths, text_of(element, "key/mode").lower())
        self.staves.read(element, where=place)

    def _take_move(self, element: Element) -> None:
        length = number_in(element, "duration", 0, LONGEST, where=self.here.place)
        if not length:
            return
        if element.tag == "backup":
            SubElement(SubElement(self.target, "backup"), "duration").text = plain_number(length)
        else:
            self._add_rest(length, "")

    def _take_direction(self, element: Element, *, onset: Fraction | None = None) -> None:
        """A direction where it stands, or at an onset in beats from the start of the bar."""
        posts = self.here.posts
        read_direction(element, posts, self.omissions, where=self.here.place)
        offset = number_in(element, "offset", -LONGEST, LONGEST, where=self.here.place)
        if onset is not None:
            offset = onset * self.divisions
        for signal in (posts.bpm, posts.label):
            if signal is None:
                continue
            self._count_given()
            direction = SubElement(self.target, "direction")
            SubElement(SubElement(direction, "direction-type"), "words").text = f"#{len(self.here.signals)}"
            if offset:
                SubElement(direction, "offset").text = plain_number(offset)
            self.here.signals.append(signal)

    # notes

    def _take_notes(self, group: list[Element]) -> None:
        """A note or a chord: grace notes wait for the next note of their voice."""
        voice = text_of(group[0], "voice") or "1"
        if group[0].find("grace") is not None:
            for note in group:
                self._take_grace(note, voice)
            return
        length = self._duration(group[0])
        if length is None:
            return
        kept = [note for note in group if self._is_kept(note, voice)]
        if not kept:
            self._add_rest(length, voice)
        for index, note in enumerate(kept):
            self._add_note(note, length, voice, is_first=index == 0)

    def _duration(self, note: Element) -> Fraction | None:
        length = number_in(note, "duration", 0, LONGEST, where=self.here.place)
        rest = note.find("rest")
        if not length and rest is not None and rest.get("measure") == "yes":
            return self._whole_bar()
        if not length:
            self.omissions.note("notes-without-duration", self.here.place)
        return length or None

    def _is_kept(self, note: Element, voice: str) -> bool:
        if note.find("pitch") is None:
            if note.find("unpitched") is not None:
                self.omissions.note("unpitched-notes", self.here.place)
            return False
        if not self.wanted.takes(text_of(note, "staff") or "1", voice):
            self.omissions.note("other-staves", self.here.place)
            return False
        if note.find("cue") is not None:
            self.omissions.note("cue-notes", self.here.place)
            return False
        if text_of(note, "notehead") == "x":
            self.omissions.note("muted-notes", self.here.place)
            return False
        return True

    def _mark(self, note: Element, voice: str) -> tuple[Mark, int]:
        """Marks of a note and its written MIDI number."""
        mark = Mark(self.here.place, voice, shift=self.staves.shift, is_blown=self.wanted.is_blown)
        pitch = note.find("pitch")
        midi = None if pitch is None else pitch_of(pitch, where=mark.place)
        if midi is None:
            raise ReadError("a <pitch> without step or octave", where=mark.place)
        written = round(midi)
        mark.cents = float(100 * (midi - written))
        read_marks(note, mark, self.omissions, self.waves)
        return mark, written

    def _take_grace(self, note: Element, voice: str) -> None:
        if not self._is_kept(note, voice):
            return
        self._count_given()
        mark, written = self._mark(note, voice)
        self.graces.setdefault(voice, []).append(mark)
        self.grace_pitches.setdefault(voice, []).append(written + mark.shift)

    def _add_note(self, note: Element, length: Fraction, voice: str, *, is_first: bool) -> None:
        mark, written = self._mark(note, voice)
        tab = self.staves.tablature_pitch(text_of(note, "staff") or "1", mark)
        if tab is not None:
            self.clean.tablature.append((written + mark.shift, tab))
        if is_first:
            self._hang_graces(mark, written + mark.shift, voice)
        number = len(self.clean.marks)
        self.clean.marks.append(mark)
        self.limits.check("events", number + 1, what="notes", where=mark.place)
        target = SubElement(self.target, "note", color=str(number))
        if not is_first:
            SubElement(target, "chord")
        add_pitch(target, written)
        self._finish(target, length, voice)

    def _hang_graces(self, mark: Mark, sounding: int, voice: str) -> None:
        """Hang the grace notes of a voice on its note; one bent or slid into it becomes its bend or slide."""
        marks, pitches = self.graces.pop(voice, []), self.grace_pitches.pop(voice, [])
        if not pitches:
            return
        last = marks[-1]
        bend = sum(last.bends, last.pre_bend)
        if bend > 0 and pitches[-1] + bend == sounding:
            mark.bent_grace = bend
            pitches.pop()
        elif set(last.slide_starts) & set(mark.slide_stops):
            mark.slid_grace = pitches.pop()
        elif bend:
            self.omissions.note("bends-of-graces", mark.place)
        mark.graces = pitches

    def _count_given(self) -> None:
        """Count one more thing that music21 is given beside the notes."""
        self.given += 1
        self.limits.check("events", self.given // _GIVEN_PER_NOTE, what="rests and signs", where=self.here.place)

    def _add_rest(self, length: Fraction, voice: str) -> None:
        self._count_given()
        target = SubElement(self.target, "note")
        SubElement(target, "rest")
        self._finish(target, length, voice)

    def _finish(self, target: Element, length: Fraction, voice: str) -> None:
        SubElement(target, "duration").text = plain_number(length)
        SubElement(target, "voice").text = self.voices.setdefault(voice, str(len(self.voices) + 1))

    def finish(self) -> CleanPart:
        left = sum(len(pitches) for pitches in self.grace_pitches.values())
        if left:
            self.omissions.note("graces-before-nothing", count=left)
        return self.clean


def clean_part(
    measures: Sequence[Element],
    wanted: Wanted,
    *,
    limits: Limits,
    omissions: Omissions,
    conductor: Sequence[Element] = (),
) -> CleanPart:
    """Write a part anew for music21.

    conductor : measures of another part, whose tempos, labels and jumps hold for this one too.

    Raises
    ------
    ReadError
        Naming the bar of a number that is none, or out of bounds.
    """
    cleaner = _Cleaner(wanted, limits=limits, omissions=omissions)
    directions = iter(conducted_in(conductor))
    for number, measure in enumerate(measures, start=1):
        cleaner.measure(measure, number, next(directions, []))
    return cleaner.finish()
