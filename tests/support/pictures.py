"""The gallery: one function for each picture that the documents show and the tests compare."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from reedpath.harp import Breath, Move, make_harp
from reedpath.listen import Extra, FaultKind
from reedpath.page import ChartLook, RibbonLook, format_chart_svg, format_ribbon_svg, format_take_svg
from reedpath.phrase import Part
from reedpath.wording import load_catalogue
from support import drawn_routes
from support.built_routes import built_route
from support.listened import built_answer, built_curve

PICTURES: dict[str, Callable[[], str]] = {}


def picture(draw: Callable[[], str]) -> Callable[[], str]:
    """Put a function's picture into the gallery, under its name."""
    PICTURES[draw.__name__.replace("_", "-")] = draw
    return draw


@picture
def ribbon_opening() -> str:
    return format_ribbon_svg(drawn_routes.opening_route())


@picture
def ribbon_alphabet() -> str:
    return format_ribbon_svg(drawn_routes.alphabet_route())


@picture
def ribbon_alphabet_phone_ink_fr() -> str:
    look = RibbonLook(layout="phone", palette="ink", notation="letters-fr")
    return format_ribbon_svg(drawn_routes.alphabet_route(), look=look, catalogue=load_catalogue("fr"))


@picture
def ribbon_dense() -> str:
    return format_ribbon_svg(drawn_routes.dense_route(), look=RibbonLook(legend=False))


@picture
def ribbon_dense_phone() -> str:
    return format_ribbon_svg(drawn_routes.dense_route(), look=RibbonLook(layout="phone", legend=False))


@picture
def ribbon_graces() -> str:
    return format_ribbon_svg(drawn_routes.graces_route(), look=RibbonLook(palette="ink"))


@picture
def ribbon_metres() -> str:
    return format_ribbon_svg(drawn_routes.metres_route(), look=RibbonLook(legend=False, notation="arrow"))


@picture
def ribbon_long_note() -> str:
    parts = [Part("Verse", Fraction(0), Fraction(16))]
    look = RibbonLook(layout="phone", legend=False)
    return format_ribbon_svg(drawn_routes.long_note_route(), look=look, parts=parts)


@picture
def ribbon_one_note() -> str:
    return format_ribbon_svg(drawn_routes.one_note_route(), look=RibbonLook(all_holes=True))


@picture
def ribbon_empty() -> str:
    return format_ribbon_svg(drawn_routes.empty_route())


@picture
def ribbon_strip_night() -> str:
    look = RibbonLook(layout="strip", palette="night", all_holes=True, heading=False, legend=False, lightable=True)
    return format_ribbon_svg(drawn_routes.opening_route(), look=look)


@picture
def ribbon_take() -> str:
    route = built_route("2d:1 3d':1 4b:1 4d':1 4d:1 5d:1 6b:2 6b:1 5d:1 3d:1 2d'':1 2d:2", key="A", bpm=96)
    changes = {
        1: (FaultKind.FLAT, 45.0),
        4: (FaultKind.LATE, 130.0),
        6: (FaultKind.MISSED, 0.0),
        9: (FaultKind.ANOTHER, 200.0, Move((4,), Breath.DRAW)),
    }
    extra = Extra(9.3, 9.6, 11, again=False, move=Move((3,), Breath.BLOW), cents=0.0)
    answer = built_answer(route, changes, extras=(extra,))
    return format_take_svg(answer, built_curve(answer))


@picture
def chart_used() -> str:
    route = drawn_routes.alphabet_route()
    moves = [one.choice.move for one in route.events if one.choice.move]
    return format_chart_svg(route.harp, used_moves=moves, tonic=7)


@picture
def chart_minor_fr_ink() -> str:
    look = ChartLook(layout="phone", palette="ink")
    french = load_catalogue("fr", notes="solfege")
    return format_chart_svg(make_harp("A", "natural-minor-second"), look=look, catalogue=french)


@picture
def chart_fourteen_phone() -> str:
    harp = drawn_routes.long_harp()
    moves = [one.choice.move for one in built_route("4d 5d' 6d 7b 7d", harp=harp).events if one.choice.move]
    return format_chart_svg(harp, used_moves=moves, look=ChartLook(layout="phone", palette="night", lightable=True))
