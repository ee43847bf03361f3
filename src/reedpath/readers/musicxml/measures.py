"""Measures of a MusicXML part: what each element says, as bars of notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple
from xml.etree.ElementTree import Element

from reedpath.data import replace
from reedpath.errors import Place, ReadError
from reedpath.phrase import COMMON_TIME, MOST_METRE_COUNT, Ornaments
from reedpath.pitch import nearest_fifths
from reedpath.readers.bars import Note, WrittenBar
from reedpath.readers.limits import Limits
from reedpath.readers.musicxml.directions import Directions, conducted_in, read_barline, read_direction
from reedpath.readers.musicxml.notations import Notations, read_notations
from reedpath.readers.musicxml.numbers import LONGEST, MOST_DIVISIONS, measure_place, number_in, text_of, whole_in
from reedpath.readers.musicxml.score_parts import ScorePart
from reedpath.readers.musicxml.staves import SpeltPitch, Staves, pitch_of, tablature_shift
from reedpath.readers.omissions import Omissions

# rests and signs for each note that the limits allow; ours
_SIGNS_PER_NOTE = 3
# the finest division of a quarter note that is kept; ours: finer ones are a writer's rounding
_FINEST = 65_535
_UNITS = ("1", "2", "4", "8", "16", "32", "64")


@dataclass(frozen=True, slots=True)
class Selection:
    """What of the part is read: one staff, one voice; empty for all.

    without_staff : a staff that is not read.
    is_blown : whether a wind instrument plays the part.
    """

    staff: str = ""
    voice: str = ""
    without_staff: str = ""
    is_blown: bool = False

    def takes(self, staff: str, voice: str) -> bool:
        """Whether a note of this staff and voice is read."""
        return self.staff in ("", staff) and self.voice in ("", voice) and staff != self.without_staff


class WaitingGrace(NamedTuple):
    """A grace note that waits for its note: its sounding pitch, and what is written at it."""

    pitch: SpeltPitch
    said: Notations

    @property
    def midi(self) -> int:
        """The nearest MIDI number."""
        return round(self.pitch.midi)


@dataclass(frozen=True, slots=True)
class WrittenPart:
    """A part as it is written.

    keys : of each key signature its fifths and mode, at written pitch, and where it begins.
    swings : ratios of swung eighths that are asked for, and where.
    shift : semitones from written to sounding pitch of the first note.
    """

    bars: tuple[WrittenBar, ...]
    keys: tuple[tuple[tuple[int, str], Place], ...]
    swings: tuple[tuple[Fraction, Place], ...]
    shift: int


def _metre_of(time: Element, *, where: Place) -> tuple[int, int] | None:
    """Count and unit of a time signature, additive ones summed; None for free metre."""
    if time.find("senza-misura") is not None:
        return None
    counts = [element.text or "" for element in time.iterfind("beats")]
    units = [(element.text or "").strip() for element in time.iterfind("beat-type")]
    total, finest = Fraction(0), 1
    for count, unit in zip(counts, units, strict=False):
        numbers = [number.strip() for number in count.split("+")]
        if not all(number.isdecimal() and len(number) < 4 for number in numbers) or unit not in _UNITS:
            raise ReadError("readers.no_metre", where=where, text=f"{count}/{unit}")
        total += Fraction(sum(map(int, numbers)), int(unit))
        finest = max(finest, int(unit))
    if not total or total * finest > MOST_METRE_COUNT:
        raise ReadError("readers.no_bar_so_long", where=where)
    return int(total * finest), finest


def _chords_of(measure: Element) -> Iterator[list[Element]]:
    """Elements of a measure, the notes of a chord together."""
    group: list[Element] = []
    for element in measure:
        if group and element.tag == "note" and element.find("chord") is not None and _may_share(group[-1], element):
            group.append(element)
            continue
        if group:
            yield group
        group = [element]
    if group:
        yield group


def _may_share(before: Element, note: Element) -> bool:
    """Whether a note may be struck with the one before."""
    if before.tag != "note" or before.find("rest") is not None:
        return False
    return (before.find("grace") is None) == (note.find("grace") is None)


def _moved(note: Note, semitones: int) -> Note:
    """A note and all that hangs on it, so many semitones higher."""
    return replace(note, midi=note.midi + semitones, ornaments=note.ornaments.moved(semitones))


class _PartReader:
    """A part while it is read.

    at, length : beats from the start of the measure to the element that is read, and to the end of the latest one.
    endings : that are open at the start of the measure.
    graces : of each voice, grace notes that wait for their note.
    slides : where each open slide begins, in MIDI numbers.
    tablature : sounding pitch and pitch by string and fret, of notes that have both.
    """

    def __init__(self, selection: Selection, *, limits: Limits, omissions: Omissions) -> None:
        self.selection = selection
        self.limits = limits
        self.omissions = omissions
        self.staves = Staves()
        self.divisions = Fraction(1)
        self.metre: tuple[int, int] | None = COMMON_TIME.signature
        self.endings: frozenset[int] = frozenset()
        self.waves: set[str] = set()
        self.graces: dict[str, list[WaitingGrace]] = {}
        self.slides: dict[str, int] = {}
        self.tablature: list[tuple[int, int]] = []
        self.bars: list[WrittenBar] = []
        self.codas: list[int] = []
        self.keys: list[tuple[tuple[int, str], Place]] = []
        self.swings: list[tuple[Fraction, Place]] = []
        self.shift: int | None = None
        self.count = 0
        self.signs = 0

    # measures

    def measure(self, source: Element, number: int, conducted: Sequence[tuple[Fraction, Element]]) -> None:
        self.where = measure_place(source, number)
        self.limits.check("bars", number, what="bars", where=self.where)
        self.directions = Directions(endings=self.endings, open_endings=self.endings)
        self.at = self.length = Fraction(0)
        self.notes: list[Note] = []
        self.tempos: list[tuple[Fraction, float]] = []
        self.labels: list[tuple[Fraction, str]] = []
        for onset, direction in conducted:
            self._take_direction(direction, onset=onset)
        for group in _chords_of(source):
            self._take(group)
        self._close()

    def _close(self) -> None:
        said = self.directions
        if said.coda_signs:
            self.codas.append(len(self.bars))
        if said.swing:
            self.swings.append((said.swing, self.where))
        self.endings = said.open_endings
        self.bars.append(
            WrittenBar(
                place=self.where,
                length=self.length or self._whole_bar(),
                notes=tuple(self.notes),
                metre=self.metre,
                tempos=tuple(self.tempos),
                labels=tuple(self.labels),
                signs=replace(said.signs, endings=said.endings),
            )
        )

    def _whole_bar(self) -> Fraction:
        """Beats of a whole bar; four in free metre."""
        return Fraction(4 * self.metre[0], self.metre[1]) if self.metre else COMMON_TIME.bar

    def _beats(self, divisions: Fraction) -> Fraction:
        return (divisions / self.divisions).limit_denominator(_FINEST)

    def _go_on(self, beats: Fraction) -> None:
        self.at += beats
        self.length = max(self.length, self.at)

    def _count_sign(self) -> None:
        """Count one more thing beside the notes."""
        self.signs += 1
        self.limits.check("events", self.signs // _SIGNS_PER_NOTE, what="rests-and-signs", where=self.where)

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
            read_barline(element, self.directions, where=self.where)
        elif element.tag == "harmony":
            self.omissions.note("chord-symbols", self.where)

    def _take_attributes(self, element: Element) -> None:
        divisions = number_in(element, "divisions", Fraction(1, 1000), MOST_DIVISIONS, where=self.where)
        self.divisions = divisions or self.divisions
        for time in element.iterfind("time"):
            self.metre = _metre_of(time, where=self.where)
        fifths = whole_in(element, "key/fifths", -7, 7, where=self.where)
        if fifths is not None:
            self.keys.append(((fifths, text_of(element, "key/mode").lower()), self.where))
        self.staves.read(element, where=self.where)

    def _take_move(self, element: Element) -> None:
        beats = self._beats(number_in(element, "duration", 0, LONGEST, where=self.where) or Fraction(0))
        if element.tag == "backup":
            self.at = max(Fraction(0), self.at - beats)
        elif beats:
            self._count_sign()
            self._go_on(beats)

    def _take_direction(self, element: Element, *, onset: Fraction | None = None) -> None:
        """A direction where it stands, or at an onset in beats from the start of the bar."""
        said = self.directions
        read_direction(element, said, self.omissions, where=self.where)
        offset = number_in(element, "offset", -LONGEST, LONGEST, where=self.where) or Fraction(0)
        at = max(self.at + self._beats(offset), Fraction(0)) if onset is None else onset
        if said.bpm is not None:
            self._count_sign()
            self.tempos.append((at, said.bpm))
        if said.label is not None:
            self._count_sign()
            self.labels.append((at, said.label))

    # notes

    def _take_notes(self, group: list[Element]) -> None:
        """A note or a chord: grace notes wait for the next note of their voice."""
        voice = text_of(group[0], "voice") or "1"
        if group[0].find("grace") is not None:
            for note in group:
                self._take_grace(note, voice)
            return
        beats = self._duration(group[0])
        if not beats:
            self.omissions.note("notes-without-duration", self.where)
            return
        kept = [note for note in group if self._is_kept(note, voice)]
        if not kept:
            self._count_sign()
        for index, note in enumerate(kept):
            self._add_note(note, beats, voice, is_first=index == 0)
        self._go_on(beats)

    def _duration(self, note: Element) -> Fraction:
        """Beats of a note or rest, 0 where none are said."""
        length = number_in(note, "duration", 0, LONGEST, where=self.where)
        if length:
            return self._beats(length)
        rest = note.find("rest")
        return self._whole_bar() if rest is not None and rest.get("measure") == "yes" else Fraction(0)

    def _is_kept(self, note: Element, voice: str) -> bool:
        if note.find("pitch") is None:
            if note.find("unpitched") is not None:
                self.omissions.note("unpitched-notes", self.where)
            return False
        if not self.selection.takes(text_of(note, "staff") or "1", voice):
            self.omissions.note("other-staves", self.where)
            return False
        if note.find("cue") is not None:
            self.omissions.note("cue-notes", self.where)
            return False
        if text_of(note, "notehead") == "x":
            self.omissions.note("muted-notes", self.where)
            return False
        return True

    def _pitch(self, note: Element) -> SpeltPitch:
        """The pitch of a note as it sounds."""
        pitch = note.find("pitch")
        written = None if pitch is None else pitch_of(pitch, where=self.where)
        if written is None:
            raise ReadError("readers.pitch_without_step", where=self.where)
        shift = self.staves.shift
        fifths = None if written.fifths is None else written.fifths + nearest_fifths(shift)
        return SpeltPitch(written.midi + shift, fifths)

    def _notations(self, note: Element) -> Notations:
        said = read_notations(note, self.waves, is_blown=self.selection.is_blown, where=self.where)
        for kind in said.left_out:
            self.omissions.note(kind, self.where)
        return said

    def _take_grace(self, note: Element, voice: str) -> None:
        if self._is_kept(note, voice):
            self._count_sign()
            self.graces.setdefault(voice, []).append(WaitingGrace(self._pitch(note), self._notations(note)))

    def _add_note(self, note: Element, beats: Fraction, voice: str, *, is_first: bool) -> None:
        pitch = self._pitch(note)
        midi, said = round(pitch.midi), self._notations(note)
        if self.shift is None:
            self.shift = self.staves.shift
        tab = self.staves.tablature_pitch(text_of(note, "staff") or "1", said.string, said.fret)
        if tab is not None:
            self.tablature.append((midi, tab))
        graces = self.graces.pop(voice, []) if is_first else []
        spelt = [one.fifths for one in (pitch, *(grace.pitch for grace in graces)) if one.fifths is not None]
        bend = self._bend_of_grace(graces, midi)
        slide = None if bend else self._slide_of_grace(graces, said)
        self.count += 1
        self.limits.check("events", self.count, what="notes", where=self.where)
        self.notes.append(
            Note(
                self.at,
                beats,
                midi,
                cents=float(100 * (pitch.midi - midi)),
                fifths=tuple(spelt),
                ornaments=self._ornaments(said, midi, tuple(grace.midi for grace in graces), slide),
                pre_bend=said.pre_bend - bend,
                bends=(bend, *said.bends) if bend else said.bends,
                tied_on=said.tied_on,
                voice=voice,
            )
        )

    def _bend_of_grace(self, graces: list[WaitingGrace], midi: int) -> Fraction:
        """Semitones by which the last grace note is bent into the note, which takes its place; 0 for none."""
        if not graces:
            return Fraction(0)
        last = graces[-1]
        bend = sum(last.said.bends, last.said.pre_bend)
        if bend > 0 and last.midi + bend == midi:
            graces.pop()
            return bend
        return Fraction(0)

    def _slide_of_grace(self, graces: list[WaitingGrace], said: Notations) -> int | None:
        """MIDI number of the last grace note when it slides into the note, which takes its place."""
        if not graces:
            return None
        last = graces[-1]
        if set(last.said.slide_starts) & set(said.slide_stops):
            graces.pop()
            return last.midi
        if sum(last.said.bends, last.said.pre_bend):
            self.omissions.note("bends-of-graces", self.where)
        return None

    def _ornaments(self, said: Notations, midi: int, graces: tuple[int, ...], slid_grace: int | None) -> Ornaments:
        slide_from = self._slide_from(said, midi, slid_grace)
        height = said.pre_bend + sum(step for step in said.bends if step > 0)
        for number in said.slide_starts:
            self.slides[number] = midi + round(height)
        if not (said.accent or said.vibrato or graces or slide_from is not None or said.slide_out):
            return Ornaments()
        return Ornaments(
            slide_from=slide_from,
            slide_to=midi + said.slide_out if said.slide_out else None,
            vibrato=said.vibrato,
            accent=said.accent,
            graces=graces,
        )

    def _slide_from(self, said: Notations, midi: int, slid_grace: int | None) -> int | None:
        """Where a slide into the note comes from: a grace note, the note that it begins on, or nowhere said."""
        starts = [self.slides.pop(number) for number in said.slide_stops if number in self.slides]
        if slid_grace is not None:
            return slid_grace
        if starts:
            return starts[0] if starts[0] != midi else None
        return midi + said.slide_in if said.slide_in else None

    def _settle_coda(self, index: int) -> None:
        """Where coda signs stand alone: the last is the coda itself, those before are jumped from."""
        bar = self.bars[index]
        is_coda = index == self.codas[-1]
        signs = replace(bar.signs, coda=bar.signs.coda or is_coda, to_coda=bar.signs.to_coda or not is_coda)
        self.bars[index] = replace(bar, signs=signs)

    def finish(self) -> WrittenPart:
        left = sum(len(waiting) for waiting in self.graces.values())
        if left:
            self.omissions.note("graces-before-nothing", count=left)
        if self.slides:
            self.omissions.note("slides-to-nothing", count=len(self.slides))
        for index in self.codas:
            self._settle_coda(index)
        octaves = tablature_shift(self.tablature)
        if octaves:
            self.bars = [replace(bar, notes=tuple(_moved(note, octaves) for note in bar.notes)) for bar in self.bars]
        return WrittenPart(tuple(self.bars), tuple(self.keys), tuple(self.swings), self.shift or 0)


def read_measures(
    part: ScorePart,
    selection: Selection,
    *,
    limits: Limits,
    omissions: Omissions,
    conductor: ScorePart | None = None,
) -> WrittenPart:
    """The bars of a part.

    conductor : another part, whose tempos, labels and jumps hold for this one too.

    Raises `ReadError`, naming the bar of a number that is none, or out of bounds.
    """
    reader = _PartReader(selection, limits=limits, omissions=omissions)
    directions = iter(conducted_in(conductor) if conductor else ())
    for number, measure in enumerate(part.measures, start=1):
        reader.measure(measure, number, next(directions, []))
    return reader.finish()
