"""Strategies for routes: any moves of any shipped tuning, with ornaments, changes, breaths, rests and repeats."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Choice, Effort, Route, RouteEvent, Spot
from reedpath.errors import Place
from reedpath.harp import Alteration, Harp, Move, load_tuning, make_harp, midi_of, reach_of, tuning_names
from reedpath.phrase import Event, Metre, Ornaments, Part, Phrase, Tempo
from reedpath.pitch import Key

LENGTHS = [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(2), Fraction(7, 2)]
GAPS = [Fraction(0)] * 6 + [Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(5, 2)]
TERMS = ["move", "breath", "travel", "cold_bend", "overbend_attack", "embouchure", "air", "ornament"]
METRES = [(4, 4), (3, 4), (6, 8), (2, 2), (7, 8)]


@st.composite
def harps(draw: st.DrawFn) -> Harp:
    """Any shipped tuning in any key."""
    keys = ["C", "A", "Bb", "F#", "Low F", "High G"]
    return make_harp(draw(st.sampled_from(keys)), load_tuning(draw(st.sampled_from(tuning_names()))))


def moves_of(harp: Harp) -> list[Move]:
    """Every move of a harp that sounds inside the MIDI range."""
    reach = reach_of(harp.tuning)
    return [move for move in (*reach.single, *reach.multiple) if max(midi_of(harp, move)) <= 127]


def _fitting(move: Move) -> st.SearchStrategy[tuple[float, float]]:
    """Where the sound of a move may start and end, relative to its pitch."""
    if len(move.holes) > 1 or move.alteration.is_overbend or move.is_dip:
        return st.just((0.0, 0.0))
    depth = -move.semitones if move.alteration is Alteration.BEND else 0
    ways = [0.0, 0.0, -0.5, -1.0, -2.0] + ([float(depth)] if depth else [])
    return st.tuples(st.sampled_from(ways), st.sampled_from(ways))


@st.composite
def _choices(draw: st.DrawFn, harp: Harp, moves: list[Move]) -> Choice:
    move = draw(st.sampled_from(moves))
    sounding = midi_of(harp, move)
    kinds = draw(st.sampled_from([None] * 8 + list(ChangeKind)))
    if kinds is ChangeKind.SILENT:
        return Choice(None, changes=(Change(ChangeKind.SILENT, sounding, (), 1.0),))
    asked = {
        None: (),
        ChangeKind.OCTAVE: tuple(midi - 12 for midi in sounding),
        ChangeKind.HARMONY: (sounding[0] + 2,),
        ChangeKind.MISSING: (*sounding, max(sounding) + 3),
        ChangeKind.STRAIGHT: sounding,
    }[kinds]
    changes = (Change(kinds, asked, sounding, 0.25),) if kinds else ()
    attack, fall = draw(_fitting(move))
    singles = [one for one in moves if len(one.holes) == 1]
    runs = st.lists(st.sampled_from(singles), max_size=2) if singles and draw(st.integers(0, 6)) == 0 else st.just([])
    lead_in = tuple(draw(runs)) if len(move.holes) == 1 and not attack else ()
    lead_out = tuple(draw(runs)) if len(move.holes) == 1 and not fall else ()
    return Choice(move, attack, fall, lead_in, lead_out, changes)


@st.composite
def _event(draw: st.DrawFn, harp: Harp, moves: list[Move]) -> RouteEvent:
    choice = draw(_choices(harp, moves))
    midi = choice.changes[0].asked_midi if choice.changes else midi_of(harp, choice.move)
    ornaments = Ornaments(
        bend_in=draw(st.sampled_from([Fraction(0)] * 5 + [Fraction(1, 2), Fraction(2)])),
        vibrato=draw(st.integers(0, 5)) == 0,
        accent=draw(st.integers(0, 5)) == 0,
        slide_from=draw(st.sampled_from([None] * 5 + [60])),
    )
    event = Event(
        Fraction(0), draw(st.sampled_from(LENGTHS)), tuple(sorted(set(midi))), ornaments, place=Place(bar=1)
    )
    points = draw(st.dictionaries(st.sampled_from(TERMS), st.floats(0, 9), max_size=3))
    air = draw(st.floats(0, 3))
    return RouteEvent(event, choice, Effort(points), draw(st.integers(0, 7)) == 0, air)


def _laid_out(events: list[RouteEvent], gaps: list[Fraction]) -> tuple[RouteEvent, ...]:
    at, laid = Fraction(0), []
    for one, gap in zip(events, gaps, strict=True):
        laid.append(replace(one, event=replace(one.event, onset=at)))
        at += one.event.duration + gap
    return tuple(laid)


@st.composite
def routes(draw: st.DrawFn, *, most: int = 40, labelled: bool = False) -> Route:
    """Routes of a few distinct events, pieces of which are copied, so that repeats abound."""
    harp = draw(harps())
    moves = moves_of(harp)
    few = draw(st.lists(_event(harp, draw(st.lists(st.sampled_from(moves), min_size=1, max_size=5))), max_size=6))
    order = draw(st.lists(st.integers(0, len(few) - 1), max_size=12)) if few else []
    while order and len(order) < most and draw(st.booleans()):
        start = draw(st.integers(0, len(order) - 1))
        order += order[start : start + draw(st.integers(1, 12))]
    order = order[:most]
    gap_of = draw(st.lists(st.sampled_from(GAPS), min_size=len(few), max_size=len(few)))
    events = _laid_out([few[index] for index in order], [gap_of[index] for index in order])
    count, unit = draw(st.sampled_from(METRES))
    end = events[-1].event.end if events else Fraction(0)
    parts = (Part("Verse", Fraction(0), end / 2), Part("Tag", end / 2, end)) if labelled and events else ()
    phrase = Phrase(
        tuple(one.event for one in events),
        title=draw(st.sampled_from(["", "Coal & ash", "*Star* [x]"])),
        metres=(Metre(Fraction(0), count, unit),),
        tempos=(Tempo(Fraction(0), draw(st.floats(30, 260))),),
        key=draw(st.sampled_from([None, Key(4), Key(9, "minor")])),
        swing=draw(st.sampled_from([Fraction(1), Fraction(2)])),
        pickup=draw(st.sampled_from([Fraction(0), Fraction(1)])),
        parts=parts,
    )
    return Route(
        phrase,
        harp,
        draw(st.sampled_from([None, 2, 12])),
        draw(st.sampled_from([0, -12, 3])),
        events,
        draw(st.floats(0, 1)),
        spots=draw(_spots(len(events))),
        level="steady",
        comfortable=draw(st.floats(0.1, 2)),
    )


@st.composite
def _spots(draw: st.DrawFn, count: int) -> tuple[Spot, ...]:
    if not count:
        return ()
    spots = []
    for _ in range(draw(st.integers(0, 3))):
        first = draw(st.integers(0, count - 1))
        last = draw(st.integers(first, count - 1))
        spots.append(
            Spot(
                first,
                last,
                draw(st.floats(0, 50)),
                tuple(draw(st.lists(st.sampled_from(TERMS), max_size=3, unique=True))),
            )
        )
    return tuple(spots)
