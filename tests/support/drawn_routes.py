"""Routes to be drawn, typed by hand with what the builder of routes has no signs for: breaths, changes, runs,
silence, spots and parts. All phrases are our own invention."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Choice, Route, RouteEvent, Spot
from reedpath.harp import Alteration, Breath, Harp, Move, make_harp, parse_tuning
from reedpath.phrase import Metre, Part
from support.built_routes import built_route

NOT_PLAYED = Choice(None, changes=(Change(ChangeKind.SILENT, (63,), (), 1.0),))
OTHER_OCTAVE = Change(ChangeKind.OCTAVE, (60,), (72,), 0.3)


def with_events(route: Route, changed: Mapping[int, RouteEvent]) -> Route:
    """The route with some of its events put in place of others."""
    return replace(route, events=tuple(changed.get(i, one) for i, one in enumerate(route.events)))


def with_breaths(route: Route, *indexes: int) -> Route:
    """The route with a breath before these events."""
    return with_events(route, {i: replace(route.events[i], breathe_before=True) for i in indexes})


def with_choice(route: Route, index: int, **fields: object) -> Route:
    """The route with another choice for an event."""
    one = route.events[index]
    return with_events(route, {index: replace(one, choice=replace(one.choice, **fields))})  # type: ignore[arg-type]


def with_silence(route: Route, *indexes: int) -> Route:
    """The route with these events left out."""
    return with_events(route, {i: replace(route.events[i], choice=NOT_PLAYED) for i in indexes})


def titled(route: Route, title: str, parts: Sequence[tuple[str, int, int]] = ()) -> Route:
    """The route with a title, and parts in whole beats."""
    labelled = tuple(Part(label, Fraction(a), Fraction(b)) for label, a, b in parts)
    return replace(route, phrase=replace(route.phrase, title=title, parts=labelled))


def with_spots(route: Route, *spans: tuple[int, int]) -> Route:
    """The route with spots from event to event."""
    return replace(route, spots=tuple(Spot(first, last, 1.0, ("leap",)) for first, last in spans))


def dip(hole: int) -> Move:
    """A shallow bend."""
    breath = Breath.DRAW if hole < 7 else Breath.BLOW
    return Move((hole,), breath, Alteration.BEND, 0)


def opening_route() -> Route:
    """Two bars with the first signs anybody needs: blow, draw, a bend, a leap."""
    route = built_route("2d:1 3d':1/2 4b:1/2 4d:1 4b:1/2 3d' 2d:1 r:1/2 2d'' 2d 1d 2d:2", key="A")
    return titled(with_breaths(route, 7), "Porch light")


def alphabet_route() -> Route:
    """Every sign at least once."""
    route = built_route(
        "2d 3d' 4b:1 r:1/2 2d''! 3d''':3/2~ [1 4]b:1 (4 5 6)d:1 6bo 5d 4d:1^1 4d':1 3d:1_2 10b' 9b:3/2~ 7b:1/2 "
        "2d:1^2 1d 2b:1 5d:1 3d:1/8g 4d:11/8 6b 5b:1"
    )
    route = with_breaths(route, 5, 10)
    route = with_choice(route, 7, changes=(OTHER_OCTAVE,))
    route = with_choice(route, 18, move=dip(5))
    route = with_choice(route, 20, lead_out=(Move((5,), Breath.DRAW),))
    route = with_silence(route, 21)
    return with_spots(titled(route, "Every sign", [("A", 0, 8), ("Turnaround", 8, 21)]), (4, 7), (9, 12))


def dense_route() -> Route:
    """Sixteenths through bends, chords and splits."""
    run = "2d 3d' 3d'' 3d''' 4b 4d 4d' 5b 6bo 6d 6b 5d 4d 3b 2d 2d' 2d'' 1b 1d 1d' 10b' 10b'' 9b 8d"
    text = " ".join(f"{move}:1/4" for move in run.split())
    text += " r:1 (1 2 3)d:1/4 (1 2 3)b:1/4 [1 4]b:1/4 [2 5]d:1/4"
    return titled(built_route(text), "Thicket")


def graces_route() -> Route:
    """Grace notes, thirty-seconds, runs, shallow bends and silence."""
    route = built_route(
        "3d:1/8g 4d:3/8 4d:1/8 5d:1/8 4d:1/8 4d':1/8 2d'':1/8g 2d':1/8g 5d:3/4~ 4b:1/8 4d:1/8 5b:1/8 5d:1/8 "
        "6b:1/8 6d:1/8 6bo:1/8 7d:1/8 3d''':1/12 3d'':1/12 3d':1/12 3d:3/4^2_1 5d:2"
    )
    route = with_choice(with_silence(route, 2, 7), 8, move=dip(5))
    runs_in = (Move((3,), Breath.DRAW), Move((4,), Breath.DRAW, Alteration.BEND, -1))
    route = with_choice(route, 21, lead_in=runs_in, lead_out=(Move((4,), Breath.DRAW),))
    return titled(with_breaths(route, 8), "Small change")


def metres_route() -> Route:
    """A pickup, then 7/8, 6/8 and 5/4."""
    return titled(
        built_route(
            "2d:1/2 2d 2d 3d 3d 4b 4b " * 3 + "4d:3/2 5d:3/2 6b:3/2 4d:1 4d:1/2 3d:3/2 2d:1/2 4b:2 r:1 2d:2",
            metres=[Metre(Fraction(0), 7, 8), Metre(Fraction(11), 6, 8), Metre(Fraction(17), 5, 4)],
            pickup=Fraction(1, 2),
        ),
        "Crooked stair",
    )


def long_note_route() -> Route:
    """A note held over a line's end."""
    return titled(built_route("4d:1 5d:1 6b:1 6d:12~ 5d:1"), "Long way home")


def one_note_route() -> Route:
    """One note."""
    return titled(built_route("4d:1"), "One")


def empty_route() -> Route:
    """Nothing at all."""
    return titled(built_route(""), "Nothing yet")


def long_harp() -> Harp:
    """A harp of fourteen holes, an octave and a half of the standard layout with three holes more below."""
    text = """
title = "fourteen holes"
key_note = "C4"
blow = ["C3", "E3", "G3", "C4", "E4", "G4", "C5", "E5", "G5", "C6", "E6", "G6", "C7", "E7"]
draw = ["D3", "G3", "B3", "D4", "G4", "B4", "D5", "F5", "A5", "B5", "D6", "F6", "A6", "B6"]
"""
    return make_harp("C", parse_tuning(text, name="fourteen"))
