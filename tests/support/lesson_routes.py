"""Strategies for routes: any moves of any shipped tuning, with ornaments, changes, breaths, rests and repeats."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from hypothesis import strategies as st
from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Choice, Effort, Route, RouteEvent, Spot, Unlike
from reedpath.errors import Place
from reedpath.harp import Alteration, Breath, Harp, Move, load_tuning, make_harp, midi_of, reach_of, tuning_names
from reedpath.phrase import Event, Metre, Ornaments, Part, Phrase, Tempo
from reedpath.pitch import Key
from support.spent_bytes import SpentBytes, built_from_bytes

LENGTHS = [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(2), Fraction(7, 2)]
GAPS = [Fraction(0)] * 6 + [Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(5, 2)]
TERMS = ["move", "breath", "travel", "cold_bend", "overbend_attack", "embouchure", "air", "ornament"]
METRES = [(4, 4), (3, 4), (6, 8), (2, 2), (7, 8)]


# of a harp: keys; of a phrase: titles and keys
HARP_KEYS = ["C", "A", "Bb", "F#", "Low F", "High G"]
TITLES = ["", "Coal & ash", "*Star* [x]"]
MUSIC_KEYS = [None, Key(4), Key(9, "minor")]
KINDS = [None] * 8 + list(ChangeKind)
# how many events of their own a route has; now and then none
FEW = [0, *range(1, 7), *range(1, 7)]
# enough for six events of their own, their order and what is copied of it; what is beyond takes the first options
BYTES = 400


@cache
def _harp(key: str, tuning: str) -> Harp:
    return make_harp(key, load_tuning(tuning))


@cache
def moves_of(harp: Harp) -> tuple[Move, ...]:
    """Every move of a harp that sounds inside the MIDI range."""
    reach = reach_of(harp.tuning)
    return tuple(move for move in (*reach.single, *reach.multiple) if max(midi_of(harp, move)) <= 127)


def _bent(drawn: SpentBytes, move: Move) -> float:
    """Where the sound of a move may start or end, relative to its pitch."""
    if len(move.holes) > 1 or move.alteration.is_overbend or move.is_dip:
        return 0.0
    depth = -move.semitones if move.alteration is Alteration.BEND else 0
    return drawn.pick([0.0, 0.0, -0.5, -1.0, -2.0] + ([float(depth)] if depth else []))


def _run(drawn: SpentBytes, moves: list[Move]) -> tuple[Move, ...]:
    singles = [one for one in moves if len(one.holes) == 1]
    return tuple(drawn.picks(singles, most=2)) if singles and drawn.yes(7) else ()


def _choice(drawn: SpentBytes, harp: Harp, moves: list[Move]) -> Choice:
    move = drawn.pick(moves)
    sounding = midi_of(harp, move)
    kind = drawn.pick(KINDS)
    if kind is ChangeKind.SILENT:
        return Choice(None, changes=(Change(ChangeKind.SILENT, sounding, (), 1.0),))
    asked = {
        None: (),
        ChangeKind.OCTAVE: tuple(midi - 12 for midi in sounding),
        ChangeKind.HARMONY: (sounding[0] + 2,),
        ChangeKind.MISSING: (*sounding, max(sounding) + 3),
        ChangeKind.ADDED: sounding[:1],
        ChangeKind.SHALLOW: sounding,
        ChangeKind.STEPPED: sounding,
        ChangeKind.STRAIGHT: sounding,
    }[kind]
    changes = (Change(kind, asked, sounding, 0.25),) if kind else ()
    attack, fall = _bent(drawn, move), _bent(drawn, move)
    lead_in = _run(drawn, moves) if len(move.holes) == 1 and not attack else ()
    lead_out = _run(drawn, moves) if len(move.holes) == 1 and not fall else ()
    return Choice(move, attack, fall, lead_in, lead_out, changes)


def _event(drawn: SpentBytes, harp: Harp, moves: list[Move]) -> RouteEvent:
    choice = _choice(drawn, harp, moves)
    midi = choice.changes[0].asked_midi if choice.changes else midi_of(harp, choice.move)
    ornaments = Ornaments(
        bend_in=drawn.pick([Fraction(0)] * 5 + [Fraction(1, 2), Fraction(2)]),
        vibrato=drawn.yes(6),
        accent=drawn.yes(6),
        slide_from=drawn.pick([None] * 5 + [60]),
    )
    event = Event(Fraction(0), drawn.pick(LENGTHS), tuple(sorted(set(midi))), ornaments, place=Place(bar=1))
    points = {term: drawn.real(0, 9) for term in drawn.some(TERMS, most=3)}
    return RouteEvent(event, choice, Effort(points), drawn.yes(8), drawn.real(0, 3))


def _laid_out(events: list[RouteEvent], gaps: list[Fraction]) -> tuple[RouteEvent, ...]:
    at, laid = Fraction(0), []
    for one, gap in zip(events, gaps, strict=True):
        laid.append(replace(one, event=replace(one.event, onset=at)))
        at += one.event.duration + gap
    return tuple(laid)


def _order(drawn: SpentBytes, few: int, most: int) -> list[int]:
    """Which of the few events come one after another: pieces are copied, so that repeats abound."""
    order = drawn.picks(range(few), least=1, most=12) if few else []
    while order and len(order) < most and drawn.yes():
        start = drawn.whole(0, len(order) - 1)
        order += order[start : start + drawn.whole(1, 12)]
    return order[:most]


def _spots(drawn: SpentBytes, count: int) -> tuple[Spot, ...]:
    spots = []
    for _ in range(drawn.whole(0, 3) if count else 0):
        first = drawn.whole(0, count - 1)
        last = drawn.whole(first, count - 1)
        spots.append(Spot(first, last, drawn.real(0, 50), tuple(drawn.some(TERMS, most=3))))
    return tuple(spots)


def _route(drawn: SpentBytes, *, most: int, labelled: bool) -> Route:
    # what all of it has comes before the events, so that it is drawn even where the bytes run out
    harp = _harp(drawn.pick(HARP_KEYS), drawn.pick(tuning_names()))
    (count, unit), bpm = drawn.pick(METRES), drawn.real(30, 260)
    title, key = drawn.pick(TITLES), drawn.pick(MUSIC_KEYS)
    swing, pickup = drawn.pick([Fraction(1), Fraction(2)]), drawn.pick([Fraction(0), Fraction(1)])
    position, shift = drawn.pick([None, 2, 12]), drawn.pick([0, -12, 3])
    truth, comfortable = drawn.real(0, 1), drawn.real(0.1, 2)
    few = drawn.pick(FEW)
    order = _order(drawn, few, most)
    spots = _spots(drawn, len(order))
    kinds = [_event(drawn, harp, drawn.picks(moves_of(harp), least=1, most=5)) for _ in range(few)]
    gap_of = [drawn.pick(GAPS) for _ in range(few)]
    events = _laid_out([kinds[index] for index in order], [gap_of[index] for index in order])
    end = events[-1].event.end if events else Fraction(0)
    parts = (Part("Verse", Fraction(0), end / 2), Part("Tag", end / 2, end)) if labelled and events else ()
    phrase = Phrase(
        tuple(one.event for one in events),
        title=title,
        metres=(Metre(Fraction(0), count, unit),),
        tempos=(Tempo(Fraction(0), bpm),),
        key=key,
        swing=swing,
        pickup=pickup,
        parts=parts,
    )
    first = drawn.pick([None, Breath.BLOW, Breath.DRAW])
    unlike = (Unlike((0, len(events) - 1), drawn.real(0, 9)),) if events and drawn.yes(5) else ()
    return Route(
        phrase, harp, position, shift, events, truth, spots=spots, level="steady", comfortable=comfortable,
        breathe_first=first, unlike=unlike,
    )  # fmt: skip


def routes(*, most: int = 40, labelled: bool = False) -> st.SearchStrategy[Route]:
    """Routes of a few distinct events, pieces of which are copied, so that repeats abound."""
    return built_from_bytes(lambda drawn: _route(drawn, most=most, labelled=labelled), size=BYTES)
