"""Routes without a search: the plainest move that the reach of a harp gives for every event."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Choice, Effort, Route, RouteEvent, Spot
from reedpath.harp import Alteration, Harp, Move, make_harp, position_between, reach_of
from reedpath.lesson import Drill, Lesson, LessonPart, Rung
from reedpath.phrase import Event, Metre, Phrase, performed
from reedpath.pitch import parse_midi

# keys of harp by pitch, low to high
KEYS = ("G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#")


def phrase_of(text: str, **fields: object) -> Phrase:
    """A phrase from words such as "C4:1 E4+G4:1/2 r:1/2": pitches, a colon, beats; r rests."""
    events, at = [], Fraction(0)
    for word in text.split():
        pitches, _, beats = word.partition(":")
        length = Fraction(beats or 1)
        if pitches != "r":
            midi = tuple(sorted(parse_midi(name) for name in pitches.split("+")))
            events.append(Event(at, length, midi))
        at += length
    return Phrase(tuple(events), **fields)  # type: ignore[arg-type]


def first_move(harp: Harp, midi: Sequence[int]) -> Move | None:
    """The first of the plainest moves that sound exactly these MIDI numbers, if any."""
    moves = reach_of(harp.tuning).moves_for(*(one - harp.key_midi for one in midi))
    return min(moves, key=lambda move: list(Alteration).index(move.alteration), default=None)


def route_of(phrase: Phrase, harp: Harp | str = "C", **fields: object) -> Route:
    """A route that plays every event by its plainest move, silent where there is none."""
    chosen = make_harp(harp) if isinstance(harp, str) else harp
    sounding = performed(phrase)
    events = []
    for event in sounding.events:
        move = first_move(chosen, event.midi)
        changes = () if move else (Change(ChangeKind.SILENT, event.midi, (), 1.0),)
        events.append(RouteEvent(event, Choice(move, changes=changes), Effort({"move": 1.0})))
    position = position_between(chosen.key_midi % 12, phrase.key.tonic) if phrase.key else None
    route = Route(sounding, chosen, position, 0, tuple(events), truth=1.0, level="advanced")
    return replace(route, **fields)  # type: ignore[arg-type]


def fitting_route(phrase: Phrase) -> Route | None:
    """A route on the first harp and octave whose reach holds every note; None where none does."""
    needed = sorted({midi for event in performed(phrase).events for midi in event.midi})
    for shift in (0, 12, -12, 24, -24):
        for key in KEYS:
            harp = make_harp(key)
            if all(first_move(harp, (midi + shift,)) for midi in needed):
                return route_of(phrase.moved(shift), harp)
    return None


def choose(route: Route, index: int, *, breathe: bool | None = None, **fields: object) -> Route:
    """The route with one event's choice changed."""
    events = list(route.events)
    one = events[index]
    changed = replace(one, choice=replace(one.choice, **fields))  # type: ignore[arg-type]
    events[index] = changed if breathe is None else replace(changed, breathe_before=breathe)
    return replace(route, events=tuple(events))


def lesson_of(
    route: Route,
    *,
    title: str | None = None,
    parts: Iterable[tuple[str, int, int, int | None]] = (),
    **fields: object,
) -> Lesson:
    """A lesson with a ladder of four tempos and one drill; one part where none is given."""
    last = len(route.events) - 1
    given = tuple(LessonPart(*part) for part in parts) or (LessonPart("A", 0, last),)
    bpm = route.phrase.tempos[0].bpm if route.phrase.tempos else 100.0
    names = (("slow", 0.5), ("faster", 0.65), ("nearly", 0.8), ("full", 1.0))
    ladder = tuple(Rung(name, factor, bpm * factor) for name, factor in names)
    spot = Spot(0, min(3, last), 8.5, ("cold_bend", "travel"))
    values: dict[str, object] = {
        "title": route.phrase.title if title is None else title,
        "route": route,
        "parts": given,
        "ladder": ladder,
        "drills": (Drill(spot, 3, ladder),) if last >= 0 else (),
        "notation": "sign",
        "languages": ("en", "fr"),
    }
    return Lesson(**(values | fields))  # type: ignore[arg-type]


COMMON_TIME = (Metre(Fraction(0), 4, 4),)
