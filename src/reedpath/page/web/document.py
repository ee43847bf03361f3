"""The document: everything of a lesson page put into one HTML file that needs nothing from outside.

A content security policy stands in the file itself: no script but its own, no style but its own, nothing fetched. So
whatever a title holds, it can neither run nor call out.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from string import Template
from typing import Any

from reedpath.data import shipped_text
from reedpath.lesson import by_line
from reedpath.page.web.assets import format_inks, joined_script
from reedpath.page.web.contents import Contents
from reedpath.page.web.markup import choice, element, json_text, spoken, text
from reedpath.page.web.ribbons import StripPicture
from reedpath.page.web.sections import facts_section, in_each_language, lesson_sections, said_words
from reedpath.page.web.texts import cautions
from reedpath.wording import Catalogue

# letters of a title that fit two lines of a telephone beside the settings, about
LONG_TITLE = 60
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


def _file(name: str) -> str:
    return shipped_text("reedpath.page.web", name)


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


_PLAIN_PAGE = """<!doctype html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<main>
{content}
</main>
{scripts}</body>
</html>
"""


def plain_page(
    title: str, content: str, style: str, language: str, *, script: str = "", words: Mapping[str, Any] | None = None
) -> bytes:
    """A page of HTML that needs no network; its title is text, its content HTML.

    script : of the page, "" for none. words : what the script says, as data.
    """
    scripts = ""
    if script:
        data = element("script", json_text(words or {}), type="application/json", id="words")
        scripts = f"{data}\n<script>{script}</script>\n"
    policy = text(policy_of(style, script))
    return _PLAIN_PAGE.format(
        language=language, policy=policy, title=text(title), style=style, content=content, scripts=scripts
    ).encode()


def strip_style(strip: StripPicture, selector: str) -> str:
    """The rule that tells how large a ribbon is, for what is inside a part of the page."""
    return (
        f"{selector}{{--rows:{strip.height_rows:.2f};--comb-rows:{strip.comb_rows:.2f};"
        f"--strip-rows:{strip.strip_rows:.2f};--lead-rows:{strip.lead_rows:.2f};"
        f"--head-rows:{strip.head_rows:.2f}}}\n"
    )


@dataclass(frozen=True, slots=True)
class PageFrame:
    """What stands around and in a page.

    title : of the whole, no HTML.
    top, main : HTML of the header under the title, and of the content.
    main_class : of the element that holds the content.
    strips : rules of the ribbons' sizes.
    symbols : SVG of signs that all of it uses.
    skip_to : name of where the first link leads.
    data : what the script is told.
    has_keys : whether there is anything that keys could move.
    """

    title: str
    top: str
    main: str
    main_class: str
    strips: str
    symbols: str
    skip_to: str
    data: Mapping[str, Any]
    has_keys: bool


def _languages(catalogues: Sequence[Catalogue]) -> str:
    if len(catalogues) < 2:
        return ""
    return "".join(
        element(
            "button", text(one.name.upper()), type="button", class_="control", lang=one.name, title=one.title,
            aria_pressed="true" if one is catalogues[0] else "false",
        )
        for one in catalogues
    )  # fmt: skip


def _choices(contents: Contents, group: str, key: str, values: tuple[str, ...]) -> str:
    return "".join(
        choice(group, value, spoken("span", f"say.{key}_{value}", contents.said), is_chosen=value == values[0])
        for value in values
    )


def _keys(contents: Contents) -> str:
    rows = "".join(
        element("dt", " ".join(element("kbd", text(sign)) for sign in signs))
        + spoken("dd", f"say.key_{name}", contents.said)
        for signs, name in KEYS
    )
    tick = '<input type="checkbox" id="keys-on" checked>' + spoken("span", "say.keys_on", contents.said)
    summary = element("summary", element("h2", text(contents.said("say.keys")), data_say="say.keys"))
    content = summary + element("label", tick, class_="tick") + element("dl", rows, class_="keys")
    return element("details", content, class_="needs-script keyboard")


def _title_heading(title: str) -> str:
    """The title as heading, a long one in two lines until it is tapped."""
    heading = element("h1", text(title))
    return element("details", element("summary", heading), class_="title") if len(title) > LONG_TITLE else heading


def by_section(author_and_date: str) -> str:
    """Who made a lesson and when; empty where neither is known."""
    return element("p", text(author_and_date), class_="by") if author_and_date else ""


def format_frame(frame: PageFrame, contents: Contents) -> str:
    """The whole page as HTML.

    contents : of a lesson in it, whose words and languages the page has.
    """
    style, script = format_inks() + frame.strips + _file("controls.css") + _file("page.css"), joined_script()
    return _template().substitute(
        said_words(contents),
        language=contents.catalogues[0].name,
        title=text(frame.title),
        heading=_title_heading(frame.title),
        policy=policy_of(style, script),
        style=style,
        script=script,
        data=json_text(frame.data),
        symbols=frame.symbols,
        skip_to=frame.skip_to,
        top=frame.top,
        main=frame.main,
        main_class=f' class="{frame.main_class}"' if frame.main_class else "",
        keys=_keys(contents) if frame.has_keys else "",
        cautions=in_each_language(contents.catalogues, cautions),
        languages=_languages(contents.catalogues),
        lights=_choices(contents, "light", "light", LIGHTS),
        sizes=_choices(contents, "letters", "letters", SIZES),
    )


def format_document(contents: Contents) -> str:
    """The page of one lesson as HTML."""
    frame = PageFrame(
        title=contents.title,
        top=by_section(by_line(contents.lesson)) + facts_section(contents),
        main=lesson_sections(contents),
        main_class="sections",
        strips=strip_style(contents.strip, ":root"),
        symbols=contents.signs.symbols,
        skip_to="player",
        data=contents.script_data(),
        has_keys=contents.is_played,
    )
    return format_frame(frame, contents)
