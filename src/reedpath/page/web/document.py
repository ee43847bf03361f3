"""The document: everything of a lesson page put into one HTML file that needs nothing from outside.

A content security policy stands in the file itself: no script but its own, no style but its own, nothing fetched. So
whatever a title holds, it can neither run nor call out.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterable
from functools import cache, partial
from importlib.resources import files
from string import Template

from reedpath.arrange import Route
from reedpath.page.chart import chart_of
from reedpath.page.chart_svg import ChartLook, chart_entries, format_route_chart_svg
from reedpath.page.drawing.legend import SAMPLE, Entry, around
from reedpath.page.drawing.measures import load_measures
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.svg import FONTS, SvgWriter
from reedpath.page.ribbon.grid import parts_in_beats
from reedpath.page.ribbon.legend import legend_entries, signs_of
from reedpath.page.ribbon.svg import event_labels
from reedpath.page.tabtext import format_tab
from reedpath.page.web.assets import format_inks, joined_script
from reedpath.page.web.contents import Contents
from reedpath.page.web.markup import choice, element, in_language, json_text, spoken, text
from reedpath.page.web.player import player_section
from reedpath.page.web.ribbons import ribbon_lines
from reedpath.page.web.texts import PageTexts
from reedpath.wording import Catalogue

__all__ = ["format_document", "policy_of"]

# units to a row of the samples; rows of air around them for their ink, and the least height
ROW_PX, AIR, LEAST = 24.0, 0.12, 0.8
# columns of the tab: what fits a phone of 360 CSS pixels in letters of 13
TAB_COLUMNS = 42
# choices of the display, as the catalogues and the style sheet name them
LIGHTS, SIZES = ("auto", "light", "dark"), ("normal", "large", "largest")
# keys of the keyboard as they are shown, and what the catalogues say of each
KEYS = (
    (("␣",), "space"),
    (("←", "→"), "arrows"),
    (("Home",), "home"),
    (("1", "2", "…"), "numbers"),
    (("−", "+"), "minus"),
    (("L",), "loop"),
    (("C",), "count"),
    (("W",), "turns"),
    (("A", "B"), "marks"),
    (("T",), "size"),
)


def _sample(entry: Entry, writer: SvgWriter) -> str:
    box = around(entry.sample)
    middle, half = (box.top + box.bottom) / 2, max((box.bottom - box.top) / 2, LEAST / 2) + AIR
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


def _file(name: str) -> str:
    return (files("reedpath.page.web") / name).read_text(encoding="utf-8")


@cache
def _template() -> Template:
    return Template(_file("page.html"))


def _hash(content: str) -> str:
    return "'sha256-" + base64.b64encode(hashlib.sha256(content.encode()).digest()).decode("ascii") + "'"


def policy_of(style: str, script: str = "") -> str:
    """What a page may do (W3C, Content Security Policy Level 3): use its own style, and its own script and sounds."""
    rules = ["default-src 'none'", f"style-src {_hash(style)}", "base-uri 'none'", "form-action 'none'"]
    if script:
        rules[1:2] = [f"script-src {_hash(script)}", rules[1], "media-src data: blob:"]
    return "; ".join(rules)


def _style(contents: Contents) -> str:
    strip = contents.strip
    measures = (
        f":root{{--rows:{strip.height_rows:.2f};--comb-rows:{strip.comb_rows:.2f};"
        f"--strip-rows:{strip.strip_rows:.2f};--lead-rows:{strip.lead_rows:.2f};"
        f"--head-rows:{strip.head_rows:.2f}}}\n"
    )
    return format_inks() + measures + _file("page.css")


def _in_each(contents: Contents, tell: Callable[[Catalogue], str]) -> str:
    """Something told in each language."""
    told = [(one.name, tell(one)) for one in contents.catalogues]
    return "\n".join(in_language(html, name, is_first=index == 0) for index, (name, html) in enumerate(told) if html)


def _languages(contents: Contents) -> str:
    if len(contents.catalogues) < 2:
        return ""
    return "".join(
        element(
            "button", text(one.name.upper()), type="button", class_="control", lang=one.name, title=one.title,
            aria_pressed="true" if one is contents.catalogues[0] else "false",
        )
        for one in contents.catalogues
    )  # fmt: skip


def _choices(contents: Contents, group: str, key: str, values: tuple[str, ...]) -> str:
    return "".join(
        choice(group, value, spoken("span", f"say.{key}_{value}", contents.said), is_chosen=value == values[0])
        for value in values
    )


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


def _heading(contents: Contents, name: str, path: str) -> str:
    return element("h2", text(contents.said(path)), id=name, data_say=path)


def _keys(contents: Contents) -> str:
    if not contents.is_played:
        return ""
    rows = "".join(
        element("dt", " ".join(element("kbd", text(sign)) for sign in signs))
        + spoken("dd", f"say.key_{name}", contents.said)
        for signs, name in KEYS
    )
    tick = '<input type="checkbox" id="keys-on" checked>' + spoken("span", "say.keys_on", contents.said)
    summary = element("summary", element("h2", text(contents.said("say.keys")), data_say="say.keys"))
    content = summary + element("label", tick, class_="tick") + element("dl", rows, class_="keys")
    return element("details", content, class_="needs-script keyboard")


def _words(contents: Contents) -> dict[str, str]:
    first = contents.words[contents.catalogues[0].name]
    return {f"{group}_{name}": text(message) for group in ("say", "titles") for name, message in first[group].items()}


def _sections(contents: Contents) -> dict[str, str]:
    tellers = {
        one.name: PageTexts(contents.lesson, contents.sheet, contents.signs, one) for one in contents.catalogues
    }
    route, notation = contents.route, contents.lesson.notation
    labels = event_labels(contents.lesson.route, contents.catalogues[0])
    parts = parts_in_beats(contents.lesson, contents.catalogues[0].name)
    spots = _in_each(contents, lambda words: tellers[words.name].spots())
    changes = _in_each(contents, lambda words: tellers[words.name].changes())
    left_out = _in_each(contents, lambda words: tellers[words.name].left_out())
    return {
        "facts": _in_each(contents, lambda words: tellers[words.name].facts()),
        "player": player_section(contents),
        "steps": _in_each(contents, lambda words: tellers[words.name].steps()),
        "spots": _section("spots", _heading(contents, "spots", "titles.spots"), spots),
        "changes": _section("changes", _heading(contents, "changes", "titles.changes"), changes),
        "left_out": element("section", left_out, class_="left-out") if left_out else "",
        "lines": "\n".join(ribbon_lines(route, notation=notation, parts=parts, words=labels)),
        "legend": _in_each(contents, lambda words: ribbon_legend(route, words)),
        "tab": _in_each(contents, lambda words: _tab(contents, words)),
        "chart": _in_each(contents, lambda words: _chart(contents, words)),
        "cautions": _in_each(contents, lambda words: tellers[words.name].cautions()),
        "keys": _keys(contents),
    }


def format_document(contents: Contents) -> str:
    """The page as HTML."""
    style, script = _style(contents), joined_script()
    return _template().substitute(
        _words(contents),
        **_sections(contents),
        language=contents.catalogues[0].name,
        title=text(contents.title),
        policy=policy_of(style, script),
        style=style,
        script=script,
        data=json_text(contents.script_data()),
        symbols=contents.signs.symbols,
        languages=_languages(contents),
        lights=_choices(contents, "light", "light", LIGHTS),
        sizes=_choices(contents, "letters", "letters", SIZES),
    )
