"""The panels of a workbench as HTML, made from what it last showed: all, or those that a message changes."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any, NamedTuple

from markupsafe import Markup

from reedpath.jobs.workbench import (
    PricesShown,
    SurveyShown,
    TradeOffShown,
    WaysShown,
    WorkbenchMessage,
    WorkbenchView,
    WrittenShown,
)
from reedpath.jobs.workbench.messages import NoteShown
from reedpath.studio.band_forms import band_fields
from reedpath.studio.benches import OpenBench
from reedpath.studio.pages import templates
from reedpath.wording import Catalogue, position_words, shift_words, typed_names

# panels by the messages that change them
PANELS: Mapping[type, tuple[str, ...]] = {
    WorkbenchView: ("actions", "problem", "facts", "tab", "note", "parts", "choose", "switches", "play", "read"),
    WaysShown: ("note",),
    WrittenShown: ("parts", "copy"),
    SurveyShown: ("survey",),
    PricesShown: ("switches",),
    TradeOffShown: ("survey",),
}
ALL = tuple(dict.fromkeys(name for names in PANELS.values() for name in names))
# the trade-off picture, in its own units: width, height, and room for the axes
WIDTH, HEIGHT, LEFT, BELOW = 360.0, 220.0, 44.0, 34.0
ROOM = 14.0


class BarShown(NamedTuple):
    """A bar of the tab: as it is numbered, and its notes with their numbers from 1."""

    bar: str
    notes: tuple[tuple[int, NoteShown], ...]


class DrawnPanels(NamedTuple):
    """Panels as HTML by their names, and the rows that the tab among them is made of, one a bar."""

    panels: dict[str, Markup]
    tab_rows: tuple[Markup, ...] = ()


class PlottedPoint(NamedTuple):
    """A harp, or a route of the chosen one, in the trade-off picture."""

    x: float
    y: float
    label: str
    kind: str


class TradePicture(NamedTuple):
    """The trade-off picture: points, the line through the routes of the chosen harp, and what the axes reach to."""

    points: tuple[PlottedPoint, ...]
    line: str
    most_effort: float
    least_truth: float


def _bars(view: WorkbenchView) -> tuple[BarShown, ...]:
    numbered = enumerate(view.notes, start=1)
    return tuple(BarShown(bar, tuple(notes)) for bar, notes in groupby(numbered, key=lambda pair: pair[1].bar))


def _picture(bench: OpenBench) -> TradePicture | None:
    """Effort against truth: each line of the survey, and what the chosen harp can do."""
    lines = bench.survey.lines if bench.survey else ()
    routes = bench.trade_off.points if bench.trade_off else ()
    if not lines:
        return None
    efforts = [one.effort for one in lines] + [one.effort for one in routes]
    truths = [one.truth for one in lines] + [one.truth for one in routes]
    most, least = max(efforts) * 1.05 or 1.0, min(min(truths), 0.95)

    def place(effort: float, truth: float) -> tuple[float, float]:
        x = LEFT + (WIDTH - LEFT - ROOM) * effort / most
        y = ROOM + (HEIGHT - BELOW - ROOM) * (1 - truth) / (1 - least)
        return round(x, 1), round(y, 1)

    found = [
        PlottedPoint(
            *place(one.effort, one.truth),
            one.harp,
            "chosen" if one.chosen else "unbeaten" if one.unbeaten else "beaten",
        )
        for one in lines
    ]
    path = " ".join(f"{x},{y}" for x, y in (place(one.effort, one.truth) for one in routes))
    return TradePicture(tuple(found), path, most, least)


def _doubtful_after(view: WorkbenchView, event: int) -> int | None:
    """The next event that may be misheard, from the first again after the last; None where there is no other."""
    doubtful = [index for index, one in enumerate(view.notes) if one.doubtful and index != event]
    return next((index for index in doubtful if index > event), doubtful[0] if doubtful else None)


def panels_of(values: Mapping[str, Any], told: WorkbenchMessage | None) -> DrawnPanels:
    """The panels that a message changes, by their names; all for None."""
    names = ALL if told is None else PANELS.get(type(told), ())
    if not names:
        return DrawnPanels({})
    bench: OpenBench = values["bench"]
    catalogue: Catalogue = values["catalogue"]
    view = bench.view
    assert view is not None
    macros = (
        templates()
        .get_template("workbench_panels.html")
        .make_module(
            {
                **values,
                "say": catalogue.say,
                "view": view,
                "address": f"/workbench/{bench.number}",
                "picture": _picture(bench) if "survey" in names else None,
                "doubtful_after": lambda event: _doubtful_after(view, event),
                "position_words": lambda number: position_words(number, catalogue),
                "key_named": lambda text: typed_names(text, catalogue),
                "shift_words": lambda semitones: shift_words(semitones, catalogue),
                "size": (WIDTH, HEIGHT, LEFT, BELOW, ROOM),
                "band": band_fields(catalogue, view.band) if "play" in names else None,
            }
        )
    )

    def draw(name: str, *given: object) -> Markup:
        return Markup(getattr(macros, name)(*given))

    rows = tuple(draw("tab_row", bar) for bar in _bars(view)) if "tab" in names else ()
    given = {"tab": (rows,)}
    return DrawnPanels({name: draw(name, *given.get(name, ())) for name in names}, rows)
