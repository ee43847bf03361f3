"""Legends: each sign of ribbon and chart with its words, the words as text that grows with the reader's letters."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from reedpath.arrange import Route
from reedpath.page.chart import chart_of
from reedpath.page.chart_svg import chart_entries
from reedpath.page.ribbon_legend import legend_entries, signs_of
from reedpath.page.shapes_legend import SAMPLE, Entry, around
from reedpath.page.shapes_measures import load_measures
from reedpath.page.shapes_palette import load_palette
from reedpath.page.svg import FONTS, Writer
from reedpath.page.web.markup import element, text
from reedpath.wording import Catalogue

__all__ = ["chart_legend", "ribbon_legend"]

# units to a row of the samples; rows of air around them for their ink, and the least height
ROW_PX, AIR, LEAST = 24.0, 0.12, 0.8


def _sample(entry: Entry, writer: Writer) -> str:
    box = around(entry.sample)
    middle, half = (box.top + box.bottom) / 2, max((box.bottom - box.top) / 2, LEAST / 2) + AIR
    view = " ".join(writer.length(rows) for rows in (-AIR, middle - half, SAMPLE + 2 * AIR, 2 * half))
    size = f'width="{writer.length(SAMPLE + 2 * AIR)}" height="{writer.length(2 * half)}"'
    shapes = writer.shapes(entry.sample)
    return f'<svg viewBox="{view}" {size} font-family="{FONTS}" stroke-linejoin="round">{shapes}</svg>'


def _listed(entries: Iterable[Entry]) -> str:
    writer = Writer(load_palette("paper"), ROW_PX)
    items = "".join(
        element("li", element("span", _sample(one, writer), aria_hidden="true") + element("span", text(one.words)))
        for one in entries
    )
    return element("ul", items, class_="signs")


def ribbon_legend(route: Route, words: Catalogue) -> str:
    """The signs that a route's ribbon uses."""
    return _listed(legend_entries(signs_of(route), words, measures=load_measures()))


def chart_legend(route: Route, words: Catalogue) -> str:
    """The signs of the chart of a route's harp."""
    name = partial(words.note, tonic=route.harp.key_midi)
    chart = chart_of(route.harp, used_moves=(), name=name, layout="phone")
    return _listed(chart_entries(chart, words, marked=True, has_home=route.phrase.key is not None))
