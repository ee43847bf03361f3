"""What is to be written: a route or a lesson as titled, labelled notes, grace notes back on their main note."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from reedpath.arrange import Route, RouteEvent
from reedpath.data import replace
from reedpath.errors import PageError, Place
from reedpath.lesson import Lesson, taught_route
from reedpath.page.score.bars import ScoreBar, bars_of
from reedpath.page.score.snapping import snap_spans, writable_lengths
from reedpath.phrase import Event, LeftOut, Part
from reedpath.wording import Catalogue

# notation where none is chosen; read by most players (common practice, no source)
PLAIN_NOTATION = "sign"


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """One main event as it is written.

    index : of the route event.
    onset, end : beats as written, its grace notes included.
    midi : MIDI numbers that sound, ascending; those asked for where the event is silent.
    graces : indexes of the route events that are its grace notes.
    is_exact : whether onset and end are those of the route, not the nearest that can be written.
    """

    index: int
    onset: Fraction
    end: Fraction
    midi: tuple[int, ...]
    graces: tuple[int, ...] = ()
    is_exact: bool = True


@dataclass(frozen=True, slots=True)
class Sheet:
    """A route ready to be written.

    title : what to call it.
    route : the route.
    notation : name of the tab notation.
    notes : the main events in order.
    bars : the bars they stand in, reaching to the end of the last part.
    parts : labelled stretches in beats.
    """

    title: str
    route: Route
    notation: str
    notes: tuple[WrittenNote, ...]
    bars: tuple[ScoreBar, ...]
    parts: tuple[Part, ...]

    def event(self, note: WrittenNote) -> RouteEvent:
        """The route event of a written note."""
        return self.route.events[note.index]

    def bar_at(self, beats: Fraction) -> ScoreBar:
        """The bar that a beat as written lies in."""
        return self.bars[self._bar_index(beats)]

    def bars_between(self, first: Fraction, last: Fraction) -> tuple[ScoreBar, ...]:
        """The bars from that of one beat to that of another."""
        return self.bars[self._bar_index(first) : self._bar_index(last) + 1]

    def _bar_index(self, beats: Fraction) -> int:
        return max(0, bisect_right(self.bars, beats, key=lambda bar: bar.onset) - 1)


NoteNamer: TypeAlias = Callable[[WrittenNote], list[str]]


def note_namer(sheet: Sheet, catalogue: Catalogue) -> NoteNamer:
    """What names the notes of the sheet in a language, each as it is written there."""

    def names(note: WrittenNote) -> list[str]:
        spelt = sheet.route.fifths(note.index)
        return [catalogue.note(midi, spelt=spelt) for midi in note.midi]

    return names


def _sounding(route: Route, index: int) -> tuple[int, ...]:
    sounding = tuple(sorted(set(route.sounding_midi(index))))
    return sounding or route.events[index].event.midi


def _grouped(route: Route) -> Iterator[WrittenNote]:
    """Main events with the grace notes before them; grace notes that lead nowhere stand alone."""
    waiting: list[int] = []
    for index, one in enumerate(route.events):
        event = one.event
        if waiting and route.events[waiting[-1]].event.end != event.onset:
            yield from _alone(route, waiting)
            waiting = []
        if event.grace:
            waiting.append(index)
            continue
        onset = route.events[waiting[0]].event.onset if waiting else event.onset
        yield WrittenNote(index, onset, event.end, _sounding(route, index), tuple(waiting))
        waiting = []
    yield from _alone(route, waiting)


def _alone(route: Route, indexes: list[int]) -> Iterator[WrittenNote]:
    for index in indexes:
        event = route.events[index].event
        yield WrittenNote(index, event.onset, event.end, _sounding(route, index))


def _clipped(notes: list[WrittenNote]) -> list[WrittenNote]:
    """The notes with none reaching into the next."""
    kept: list[WrittenNote] = []
    for note in notes:
        if kept and kept[-1].onset >= note.onset:
            raise PageError("page.two_at_once", beat=note.onset)
        if kept and kept[-1].end > note.onset:
            kept[-1] = replace(kept[-1], end=note.onset, is_exact=False)
        kept.append(note)
    return kept


def _parts_of(lesson: Lesson, route: Route) -> Iterator[Part]:
    for part in lesson.parts:
        yield Part(part.label, route.events[part.first].event.onset, route.events[part.last].event.end)


def _stretched(bars: Sequence[ScoreBar], lengths: Mapping[int, Fraction]) -> Callable[[Fraction], Fraction]:
    """Where a beat of the phrase lies once some bars, by their index, have other lengths."""
    onsets = [Fraction(0)]
    for index, bar in enumerate(bars):
        onsets.append(onsets[-1] + lengths.get(index, bar.end - bar.onset))

    def moved(beat: Fraction) -> Fraction:
        index = max(0, bisect_right(bars, beat, key=lambda bar: bar.onset) - 1)
        bar = bars[index]
        rate = lengths[index] / (bar.end - bar.onset) if index in lengths else 1
        return onsets[index] + (beat - bar.onset) * rate

    return moved


def _with_writable_bars(route: Route, end: Fraction) -> tuple[Route, frozenset[int]]:
    """The route with every bar as long as can be written, and the events that are not as long as they were."""
    bars = bars_of(route.phrase, end=end)
    lengths = writable_lengths(bars)
    if not lengths:
        return route, frozenset()
    at = _stretched(bars, lengths)

    def moved(event: Event) -> Event:
        return replace(event, onset=at(event.onset), duration=at(event.end) - at(event.onset))

    phrase = replace(
        route.phrase,
        events=tuple(map(moved, route.phrase.events)),
        metres=tuple(replace(one, onset=at(one.onset)) for one in route.phrase.metres),
        tempos=tuple(replace(one, onset=at(one.onset)) for one in route.phrase.tempos),
        pickup=at(route.phrase.pickup),
        parts=tuple(replace(one, onset=at(one.onset), end=at(one.end)) for one in route.phrase.parts),
        repeats=(),
    )
    events = tuple(replace(one, event=moved(one.event)) for one in route.events)
    changed = [
        index
        for index, one in enumerate(route.events)
        if any(one.event.onset < bars[bar].end and one.event.end > bars[bar].onset for bar in lengths)
    ]
    return replace(route, phrase=phrase, events=events), frozenset(changed)


def left_out_of(sheet: Sheet) -> tuple[LeftOut, ...]:
    """What the lesson does not hold of its source, and how many notes are not written at their exact time."""
    rounded = [note for note in sheet.notes if not note.is_exact]
    found = sheet.route.phrase.left_out
    if not rounded:
        return found
    return (*found, LeftOut("rounded-rhythm", Place(bar=sheet.bar_at(rounded[0].onset).printed.number), len(rounded)))


def sheet_of(source: Lesson | Route, *, notation: str | None = None) -> Sheet:
    """
    The sheet of a lesson or of a bare route.

    notation : name of the tab notation; the lesson's own where none is given.

    Raises `PageError` where a metre cannot be written or too much happens within a beat.
    """
    given = taught_route(source) if isinstance(source, Lesson) else source
    end = max((one.event.end for one in given.events), default=Fraction(0))
    route, changed = _with_writable_bars(given, max(end, given.phrase.end))
    if isinstance(source, Lesson):
        title, parts = source.title, tuple(_parts_of(source, route))
        notation = notation or source.notation
    else:
        title, parts = source.phrase.title, route.phrase.parts
    notes = _clipped(list(_grouped(route)))
    end = max((note.end for note in notes), default=Fraction(0))
    bars = bars_of(route.phrase, end=max(end, route.phrase.end))
    snapped = snap_spans(tuple((note.onset, note.end) for note in notes), bars)
    moved = set(snapped.moved)
    written = tuple(
        replace(
            note, onset=onset, end=stop, is_exact=note.is_exact and place not in moved and note.index not in changed
        )
        for place, (note, (onset, stop)) in enumerate(zip(notes, snapped.spans, strict=True))
    )
    return Sheet(title, route, notation or PLAIN_NOTATION, written, bars, parts)
