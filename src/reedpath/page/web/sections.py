"""The sections of one lesson on a page: its player, its steps, its ribbon in lines, its tab and its chart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache, partial
from string import Template

from reedpath.arrange import Route
from reedpath.data import shipped_text
from reedpath.page.chart import chart_of
from reedpath.page.chart_svg import ChartLook, chart_entries, format_route_chart_svg
from reedpath.page.drawing.drawing_data import load_measures
from reedpath.page.drawing.legend import SAMPLE, Entry, around
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.svg import FONTS, SvgWriter
from reedpath.page.ribbon.grid import parts_in_beats
from reedpath.page.ribbon.legend import legend_entries, signs_of
from reedpath.page.tabtext.printing import format_tab
from reedpath.page.web.contents import Contents
from reedpath.page.web.markup import element, in_language, text
from reedpath.page.web.player import player_section
from reedpath.page.web.ribbons import ribbon_lines
from reedpath.page.web.texts import PageTexts
from reedpath.wording import Catalogue

# units to a row of the samples; rows of air around them for their ink, and the least height
ROW_PX, AIR, LEAST = 24.0, 0.12, 0.8
# columns of the tab: what fits a phone of 360 CSS pixels in letters of 13
TAB_COLUMNS = 42


def _sample(entry: Entry, writer: SvgWriter) -> str:
    box = around(entry.sample)
    middle, half = box.middle[1], max((box.bottom - box.top) / 2, LEAST / 2) + AIR
    view = " ".join(writer.length(rows) for rows in (-AIR, middle - half, SAMPLE + 2 * AIR, 2 * half))
    size = f'width="{writer.length(SAMPLE + 2 * AIR)}" height="{writer.length(2 * half)}"'
    shapes = writer.shapes(entry.sample)
    return f'<svg viewBox="{view}" {size} font-family="{FONTS}" stroke-linejoin="round">{shapes}</svg>'


def _listed(entries: Iterable[Entry]) -> str:
    writer = SvgWriter(load_palette("paper"), ROW_PX)
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


def in_each_language(catalogues: Sequence[Catalogue], tell: Callable[[Catalogue], str]) -> str:
    """Something told in each language; nothing where it is empty."""
    told = [(one.name, tell(one)) for one in catalogues]
    return "\n".join(in_language(html, name, is_first=index == 0) for index, (name, html) in enumerate(told) if html)


def _tab(contents: Contents, words: Catalogue) -> str:
    tab = text(format_tab(contents.lesson, catalogue=words, width=TAB_COLUMNS))
    return element("pre", tab, tabindex=0, role="group", aria_label=words.say("sheet.tab"))


def _chart(contents: Contents, words: Catalogue) -> str:
    route = contents.lesson.route
    look = ChartLook(layout="phone", heading=False, legend=False)
    return format_route_chart_svg(route, look=look, catalogue=words) + chart_legend(route, words)


def _section(name: str, heading: str, content: str) -> str:
    """A section under its heading; empty where nothing stands in it."""
    if not content:
        return ""
    return element("section", f"{heading}\n{content}", aria_labelledby=name, class_=name)


def _heading(contents: Contents, name: str, path: str, level: int) -> str:
    return element(f"h{level}", text(contents.said(path)), id=name, data_say=path)


@cache
def _template() -> Template:
    return Template(shipped_text("reedpath.page.web", "lesson.html"))


def said_words(contents: Contents) -> dict[str, str]:
    """What the templates say in the first language, by the names of their gaps."""
    first = contents.words[contents.catalogues[0].name]
    return {f"{group}_{name}": text(message) for group in ("say", "titles") for name, message in first[group].items()}


def facts_section(contents: Contents) -> str:
    """What a player must know first, in each language."""
    return in_each_language(
        contents.catalogues,
        lambda words: PageTexts(contents.lesson, contents.sheet, contents.signs, words).facts(),
    )


def lesson_sections(contents: Contents, *, level: int = 2) -> str:
    """All sections of a lesson as HTML.

    level : of their headings.
    """
    tellers = {
        one.name: PageTexts(contents.lesson, contents.sheet, contents.signs, one, level)
        for one in contents.catalogues
    }
    in_each = partial(in_each_language, contents.catalogues)
    route, notation = contents.route, contents.lesson.notation
    labels = contents.words[contents.catalogues[0].name]["events"]
    parts = parts_in_beats(contents.lesson, contents.catalogues[0].name)
    spots = in_each(lambda words: tellers[words.name].spots())
    changes = in_each(lambda words: tellers[words.name].changes())
    left_out = in_each(lambda words: tellers[words.name].left_out())
    return _template().substitute(
        said_words(contents),
        heading=f"h{level}",
        player=player_section(contents, level=level),
        steps=in_each(lambda words: tellers[words.name].steps()),
        spots=_section("spots", _heading(contents, "spots", "titles.spots", level), spots),
        changes=_section("changes", _heading(contents, "changes", "titles.changes", level), changes),
        left_out=element("section", left_out, class_="left-out") if left_out else "",
        lines="\n".join(ribbon_lines(route, notation=notation, parts=parts, words=labels)),
        legend=in_each(lambda words: ribbon_legend(route, words)),
        tab=in_each(lambda words: _tab(contents, words)),
        chart=in_each(lambda words: _chart(contents, words)),
    )
