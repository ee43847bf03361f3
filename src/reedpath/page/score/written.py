"""What is to be written: a route or a lesson as titled, labelled notes, grace notes back on their main note."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from reedpath.arrange import Route, RouteEvent
from reedpath.errors import PageError
from reedpath.lesson import Lesson, taught_route
from reedpath.page.score.grid import Bar, bars_of
from reedpath.page.score.snapping import snap_spans
from reedpath.phrase import Part
from reedpath.wording import Catalogue

__all__ = ["Sheet", "WrittenNote", "note_namer", "sheet_of"]

# notation where none is chosen; read by most players (common practice, no source)
PLAIN_NOTATION = "sign"

# semitones from a minor tonic up to that of its relative major, whose signature it has
RELATIVE = 3


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
    bars: tuple[Bar, ...]
    parts: tuple[Part, ...]

    def event(self, note: WrittenNote) -> RouteEvent:
        """The route event of a written note."""
        return self.route.events[note.index]


def note_namer(sheet: Sheet, catalogue: Catalogue) -> Callable[[int], str]:
    """What names a MIDI number of the sheet in a language, spelt as its key asks."""
    key = sheet.route.phrase.key
    tonic = None if key is None else (key.tonic + (RELATIVE if key.mode == "minor" else 0)) % 12
    return lambda midi: catalogue.note(midi, tonic=tonic)


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
            raise PageError(
                f"two events start together at beat {note.onset}",
                hint="reduce the phrase to its lead line first",
            )
        if kept and kept[-1].end > note.onset:
            kept[-1] = replace(kept[-1], end=note.onset, is_exact=False)
        kept.append(note)
    return kept


def _parts_of(lesson: Lesson) -> Iterator[Part]:
    events = lesson.route.events
    for part in lesson.parts:
        yield Part(part.label, events[part.first].event.onset, events[part.last].event.end)


def sheet_of(source: Lesson | Route, *, notation: str | None = None) -> Sheet:
    """
    The sheet of a lesson or of a bare route.

    notation : name of the tab notation; the lesson's own where none is given.

    Raises `PageError` where a metre cannot be written or too much happens within a beat.
    """
    if isinstance(source, Lesson):
        route, title, parts = taught_route(source), source.title, tuple(_parts_of(source))
        notation = notation or source.notation
    else:
        route, title, parts = source, source.phrase.title, source.phrase.parts
    notes = _clipped(list(_grouped(route)))
    end = max((note.end for note in notes), default=Fraction(0))
    bars = bars_of(route.phrase, end=max(end, route.phrase.end))
    snapped = snap_spans(tuple((note.onset, note.end) for note in notes), bars)
    moved = set(snapped.moved)
    written = tuple(
        replace(note, onset=onset, end=stop, is_exact=note.is_exact and place not in moved)
        for place, (note, (onset, stop)) in enumerate(zip(notes, snapped.spans, strict=True))
    )
    return Sheet(title, route, notation or PLAIN_NOTATION, written, bars, parts)
