"""Rhythm of harmonica tab, and the bars it makes: by the lengths typed, or each bar shared among its notes.

Where no length is typed at all, a bar's notes are equally long, as long as whole, half, quarter ... notes or
eighth triplets allow, and the last one fills the bar; without bar lines each note is a quarter. Where lengths
are typed, one holds until the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.data import replace
from reedpath.errors import Place
from reedpath.harp import Harp, midi_of
from reedpath.readers.bars import Note, OrderSigns, WrittenBar
from reedpath.readers.harmonica_tab.lines import Slot, SlotKind
from reedpath.readers.omissions import Omissions
from reedpath.readers.typed_tab.heading import TypedHeading
from reedpath.readers.typed_tab.lengths import bar_must_be_full, cut_into_bars, usual_metre

# beats that a note may take where a bar is shared: whole to thirty-second notes, and a whole bar of triplets
_SHARES = (Fraction(4), Fraction(2), Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(1, 8))
_TRIPLET = Fraction(1, 3)


@dataclass(slots=True)
class _Measure:
    """A bar being gathered; ``labels`` are index of a slot and name of the part that begins with it."""

    slots: list[Slot] = field(default_factory=list)
    labels: list[tuple[int, str]] = field(default_factory=list)
    starts: bool = False
    times: int = 1
    closed: bool = False

    @property
    def metre(self) -> tuple[int, int] | None:
        """Count and unit, where the tab says them for each bar."""
        return self.slots[0].metre


def _measures(slots: Sequence[Slot]) -> Iterator[_Measure]:
    """Slots between bar lines."""
    measure = _Measure()
    for slot in slots:
        if slot.part:
            measure.labels.append((len(measure.slots), slot.part))
        if slot.kind is not SlotKind.BAR:
            measure.slots.append(slot)
            continue
        if measure.slots:
            measure.times = max(slot.times, 2 if slot.text.startswith(":") else 1)
            measure.closed = True
            yield measure
            measure = _Measure()
        measure.starts = measure.starts or slot.text.endswith(":")
    if measure.slots:
        yield measure


def _with_lasting_lengths(measures: Sequence[_Measure]) -> None:
    """Let each typed length hold until the next one."""
    beats: Fraction | None = None
    for measure in measures:
        for index, slot in enumerate(measure.slots):
            beats = slot.beats or beats
            measure.slots[index] = replace(slot, beats=beats or Fraction(1))


def _share(measure: _Measure, beats: Fraction) -> None:
    """Share a bar of so many beats among its slots."""
    count = len(measure.slots)
    if count * _TRIPLET == beats:
        each = _TRIPLET
    else:
        each = next((share for share in _SHARES if share * count <= beats), beats / count)
    for index, slot in enumerate(measure.slots):
        last = index == count - 1
        measure.slots[index] = replace(slot, beats=beats - each * (count - 1) if last else each)


def _notes(measure: _Measure, harp: Harp) -> tuple[list[Note], list[Fraction]]:
    """Notes of a bar, and where each slot begins."""
    notes: list[list[Note]] = []
    onsets: list[Fraction] = []
    onset = Fraction(0)
    sounding = False
    for slot in measure.slots:
        beats = slot.beats or Fraction(1)
        onsets.append(onset)
        if slot.kind is SlotKind.NOTE and slot.move is not None:
            ornaments = replace(slot.ornaments, vibrato=slot.vibrato, accent=slot.accent)
            pitches = sorted(set(midi_of(harp, slot.move)))
            place = slot.place
            notes.append([Note(onset, beats, midi, ornaments=ornaments, place=place) for midi in pitches])
            sounding = True
        elif slot.kind is SlotKind.HOLD and sounding:
            notes[-1] = [replace(note, duration=note.duration + beats) for note in notes[-1]]
        elif slot.kind is SlotKind.REST:
            sounding = False
        onset += beats
    return [note for chord in notes for note in chord], [*onsets, onset]


def _held_over(bars: list[WrittenBar], measures: Sequence[_Measure]) -> list[WrittenBar]:
    """Lengthen the last notes of a bar by the holds that the next ones begin with."""
    sounding: int | None = None  # the bar whose last notes sound at the bar line
    for index, measure in enumerate(measures):
        held = Fraction(0)
        for slot in measure.slots:
            if slot.kind is not SlotKind.HOLD:
                break
            held += slot.beats or Fraction(0)
        if held and sounding is not None:
            bars[sounding] = _lengthened(bars[sounding], held)
        if bars[index].notes:
            ends = max(note.onset + note.duration for note in bars[index].notes)
            sounding = index if ends == bars[index].length else None
        elif held < bars[index].length:
            sounding = None
    return bars


def _lengthened(bar: WrittenBar, held: Fraction) -> WrittenBar:
    """The bar with its last notes so many beats longer."""
    last = max(note.onset + note.duration for note in bar.notes)
    longer = tuple(
        replace(note, duration=note.duration + held) if note.onset + note.duration == last else note
        for note in bar.notes
    )
    return replace(bar, notes=longer)


def bars_of(slots: Sequence[Slot], harp: Harp, heading: TypedHeading, omissions: Omissions) -> list[WrittenBar]:
    """
    The bars of the notes, rests, holds and bar lines of a tab.

    Raises `ReadError`, naming the line, where typed lengths do not fill a bar of the stated metre.
    """
    measures = list(_measures(slots))
    metre = heading.common_metre
    typed = any(slot.beats for slot in slots)
    barred = any(measure.closed for measure in measures)
    if typed:
        _with_lasting_lengths(measures)
    for index, measure in enumerate(measures):
        if not typed:
            omissions.note("lengths-shared-out", measure.slots[0].place)
            _share(measure, (heading.pickup or metre.bar) if index == 0 else metre.bar) if barred else None
    bars = []
    for number, measure in enumerate(measures, start=1):
        notes, onsets = _notes(measure, harp)
        labels = tuple((onsets[index], label) for index, label in measure.labels)
        signs = OrderSigns(starts=measure.starts, times=measure.times)
        pair = measure.metre or metre.signature
        bars.append(WrittenBar(Place(bar=number), onsets[-1], tuple(notes), pair, labels=labels, signs=signs))
    bars = _held_over(bars, measures)
    if not barred:
        bars = cut_into_bars(bars, metre.bar, first=heading.pickup or Fraction(0)) if bars else []
    elif any(measure.metre for measure in measures):
        pass
    elif typed and heading.metre is None:
        metre = usual_metre([bar.length for bar in bars]) or metre
        bars = [replace(bar, metre=metre.signature) for bar in bars]
    elif typed:
        for number, (bar, measure) in enumerate(zip(bars, measures, strict=True), start=1):
            where = measure.slots[0].place
            bar_must_be_full(bar.length, metre, number=number, last=len(bars), where=where)
    if bars and heading.bpm is not None:
        bars[0] = replace(bars[0], tempos=((Fraction(0), heading.bpm),))
    return bars
