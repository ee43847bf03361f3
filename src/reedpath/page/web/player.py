"""The player: the part of a page that sounds, with everything that can be chosen."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from functools import cache
from string import Template

from reedpath.data import shipped_text
from reedpath.page.drawing.svg import number
from reedpath.page.web.contents import Contents
from reedpath.page.web.markup import choice, element, spoken, text
from reedpath.page.web.words import SLOWER

# who plays: the harmonica every time, the student every second time, the student alone
TURNS = ("together", "call", "yours")


@cache
def _template() -> Template:
    return Template(shipped_text("reedpath.page.web", "player.html"))


def _plain_sounds(contents: Contents) -> str:
    """The sounds as browsers play them by themselves; the script takes them from here."""
    found = []
    for index, sound in enumerate(contents.sounds):
        address = f"data:{sound.media_type};base64,{base64.b64encode(sound.data).decode('ascii')}"
        player = f'<audio controls preload="none" src="{address}" aria-label="{text(_rung_label(contents, index))}">'
        caption = element("figcaption", text(_rung_label(contents, index)))
        found.append(element("figure", f"{caption}{player}</audio>"))
    return "\n".join(found)


def _rung_label(contents: Contents, index: int) -> str:
    return f"{contents.said(f'rungs.{index}.name')}, {contents.said(f'rungs.{index}.tempos.0')}"


def _rungs(contents: Contents) -> Iterator[str]:
    """The tempos, numbered as their keys are."""
    for index in range(len(contents.sounds)):
        tempo = spoken("span", f"rungs.{index}.tempos.0", contents.said)
        number = element("i", str(index + 1), aria_hidden="true")
        label = element("b", f"{number}{tempo}") + " " + spoken("small", f"rungs.{index}.name", contents.said)
        yield choice("rung", index, label, is_chosen=index == 0)


def _stretch(contents: Contents, index: int) -> str:
    label = spoken("span", f"stretches.{index}.name", contents.said) + " "
    label += spoken("small", f"stretches.{index}.place", contents.said)
    return choice("stretch", index, label, is_chosen=index == 0)


def _folded(contents: Contents) -> range:
    """The stretches that are folded away: the parts, where they are in groups."""
    stretches = contents.stretches
    is_grouped = any(one.kind == "group" for one in stretches)
    count = sum(one.kind == "part" for one in stretches) if is_grouped else 0
    return range(len(stretches) - count, len(stretches))


def _all_parts(contents: Contents) -> str:
    """The parts one by one, to be unfolded; empty where they are listed as they are."""
    folded = _folded(contents)
    if not folded:
        return ""
    chosen = element("small", "", id="part-chosen")
    summary = element("summary", spoken("span", "say.all_parts", contents.said) + chosen)
    row = element("div", "".join(_stretch(contents, index) for index in folded), class_="row")
    return element("details", summary + row, class_="all-parts")


def _stretches(contents: Contents) -> Iterator[str]:
    for index in range(_folded(contents).start):
        yield _stretch(contents, index)
    own = spoken("span", "say.own", contents.said) + ' <small id="own-place">–</small>'
    yield choice("stretch", len(contents.stretches), own, is_chosen=False, is_closed=True)


def _turns(contents: Contents) -> Iterator[str]:
    for index, turns in enumerate(TURNS):
        label = spoken("span", f"say.turns_{turns}", contents.said)
        yield choice("turns", turns, label, is_chosen=index == 0)


def player_section(contents: Contents, *, level: int = 2) -> str:
    """The player as HTML; empty where there is nothing to play.

    level : of its heading.
    """
    if not contents.is_played:
        return ""
    first = contents.words[contents.catalogues[0].name]
    values = {f"say_{name}": text(message) for name, message in first["say"].items()}
    return _template().substitute(
        values,
        heading=f"h{level}",
        plain_sounds=_plain_sounds(contents),
        events=len(contents.lesson.route.events),
        first_event=text(first["events"][0]),
        comb=contents.strip.comb,
        strip=contents.strip.strip,
        strip_rows=number(contents.strip.strip_rows),
        height_rows=number(contents.strip.height_rows),
        harp=contents.signs.harp,
        rungs="".join(_rungs(contents)),
        stretches="".join(_stretches(contents)),
        all_parts=_all_parts(contents),
        turns="".join(_turns(contents)),
        slowest=SLOWER[-1],
        slower_step=SLOWER[1],
    )
