"""The legend: one sample of each sign that a ribbon uses, with its words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reedpath.arrange import Route, RouteEvent
from reedpath.harp import Alteration, Breath, Move
from reedpath.page.drawing.drawing_data import Measures
from reedpath.page.drawing.legend import SAMPLE, Entry, Legend, laid_out
from reedpath.page.drawing.marks import (
    accent_post,
    breath_comma,
    changed_lozenge,
    silent_slot,
    weights_below,
)
from reedpath.page.drawing.shapes import Box, Label, Shape, circle, line, rounded_box
from reedpath.page.drawing.strip import Strip
from reedpath.page.ribbon.notes import bonds_of, strip_shapes
from reedpath.wording import Catalogue

# rows; cord to cord in the samples of chord and split
CLOSE = 0.74


def _signs_of_event(one: RouteEvent) -> set[str]:
    choice, moves = one.choice, one.choice.moves
    asked = {
        "draw": any(move.breath is Breath.DRAW for move in moves),
        "blow": any(move.breath is Breath.BLOW for move in moves),
        "bend": any(move.alteration is Alteration.BEND and not move.is_dip for move in moves),
        "dip": any(move.is_dip for move in moves),
        "overbend": any(move.alteration.is_overbend for move in moves),
        "chord": any(len(move.holes) > 1 and not move.is_split for move in moves),
        "tongue": any(move.is_split for move in moves),
        "let_go": choice.attack_semitones < 0,
        "pressed": choice.fall_semitones < 0 or choice.attack_semitones > 0,
        "vibrato": one.event.ornaments.vibrato,
        "accent": one.event.ornaments.accent,
        "grace": one.event.grace,
        "run": bool(choice.lead_in or choice.lead_out),
        "breath": one.breathe_before,
        "changed": bool(choice.changes) and choice.move is not None,
        "silent": choice.move is None,
    }
    return {sign for sign, used in asked.items() if used}


def signs_of(*routes: Route) -> tuple[str, ...]:
    """The signs that the ribbons of routes use, in the legend's order; each is a key of the samples."""
    used = {sign for route in routes for one in route.events for sign in _signs_of_event(one)}
    if used & {"bend", "let_go", "pressed"}:
        used.add("weight")
    if any(route.spots for route in routes):
        used.add("spot")
    return tuple(sign for sign in _SAMPLES if sign in used)


def _strip(m: Measures, *levels: float, breath: Breath = Breath.DRAW, vibrato: bool = False) -> Strip:
    start, hold, end = levels if len(levels) == 3 else (levels[0],) * 3
    return Strip(0.0, SAMPLE, 0.0, breath, start, hold, end, m.strip, m, vibrato)


def _on_cord(strip: Strip, m: Measures) -> list[Shape]:
    return [line("cord", (-0.1, strip.cord), (SAMPLE + 0.1, strip.cord)), *strip_shapes(strip, m)]


def _drawn(*levels: float, vibrato: bool = False) -> Callable[[Measures], list[Shape]]:
    return lambda m: _on_cord(_strip(m, *levels, vibrato=vibrato), m)


def _blown(m: Measures) -> list[Shape]:
    return _on_cord(_strip(m, 0.0, breath=Breath.BLOW), m)


def _overbend(m: Measures) -> list[Shape]:
    return _on_cord(_strip(m, m.lift / m.step, breath=Breath.BLOW), m)


def _several(holes: tuple[int, ...]) -> Callable[[Measures], list[Shape]]:
    def draw(m: Measures) -> list[Shape]:
        places = [Strip(0.0, SAMPLE, -hole * CLOSE, Breath.DRAW, 0.0, 0.0, 0.0, m.strip, m) for hole in holes]
        shapes = bonds_of(Move(holes, Breath.DRAW), places, m)
        return shapes + [shape for strip in places for shape in strip_shapes(strip, m)]

    return draw


def _weights(m: Measures) -> list[Shape]:
    return weights_below(SAMPLE / 2, 0.0, -3.0, SAMPLE, m)


def _accent(m: Measures) -> list[Shape]:
    return [*_on_cord(_strip(m, 0.0), m), accent_post(0.03, -m.strip / 2, m.strip / 2)]


def _slim(m: Measures) -> list[Shape]:
    strip = Strip(SAMPLE * 0.3, SAMPLE * 0.7, 0.0, Breath.DRAW, 0.0, 0.0, 0.0, m.slim, m)
    return _on_cord(strip, m)


def _breath(m: Measures) -> list[Shape]:
    return [breath_comma(SAMPLE / 2, 0.3)]


def _changed(m: Measures) -> list[Shape]:
    return [changed_lozenge(SAMPLE / 2, 0.0)]


def _silent(m: Measures) -> list[Shape]:
    half = m.strip * 0.42
    return silent_slot(Box(0.0, -half, SAMPLE, half))


def _spot(m: Measures) -> list[Shape]:
    return [
        rounded_box("shade", Box(0.0, -0.5, SAMPLE, 0.15)),
        line("spot", (0.06, -0.1), (0.06, 0.15), (SAMPLE - 0.06, 0.15), (SAMPLE - 0.06, -0.1)),
        circle("spot_disc", SAMPLE / 2, 0.15, 0.3),
        Label("spot_text", SAMPLE / 2, 0.15, m.small_text, "1"),
    ]


# sign -> how its sample is drawn around (0..SAMPLE, 0); the order is the legend's
_SAMPLES: dict[str, Callable[[Measures], list[Shape]]] = {
    "blow": _blown,
    "draw": _drawn(0.0),
    "bend": _drawn(-2.0),
    "weight": _weights,
    "dip": _drawn(-0.5),
    "overbend": _overbend,
    "let_go": _drawn(-2.0, 0.0, 0.0),
    "pressed": _drawn(0.0, 0.0, -2.0),
    "vibrato": _drawn(0.0, vibrato=True),
    "accent": _accent,
    "grace": _slim,
    "run": _slim,
    "chord": _several((1, 2)),
    "tongue": _several((1, 3)),
    "breath": _breath,
    "changed": _changed,
    "silent": _silent,
    "spot": _spot,
}


def legend_entries(signs: Sequence[str], catalogue: Catalogue, *, measures: Measures) -> list[Entry]:
    """A sample of each sign with its words."""
    return [Entry(tuple(_SAMPLES[sign](measures)), catalogue.say(f"ribbon.{sign}")) for sign in signs]


def legend_of(
    signs: Sequence[str], catalogue: Catalogue, *, width: float, measures: Measures, in_print: bool = False
) -> Legend:
    """The legend of some signs, in columns that fit a width in rows; ``in_print`` is that of `laid_out`."""
    entries = legend_entries(signs, catalogue, measures=measures)
    return laid_out(entries, width=width, measures=measures, in_print=in_print)
