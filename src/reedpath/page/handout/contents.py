"""The contents of a hand-out, as plain data for the page's template."""

from __future__ import annotations

import re
from typing import Any

from reedpath.lesson import Lesson
from reedpath.page.handout.papers import Paper
from reedpath.page.handout.pictures import lesson_chart, lesson_ribbon, score_systems
from reedpath.page.handout.told import change_rows, ladder_rows, spot_rows, step_blocks
from reedpath.page.score.elements import clean_text
from reedpath.page.score.legend import moves_legend, signs_legend
from reedpath.page.score.written import Sheet, left_out_of, sheet_of
from reedpath.page.shapes_palette import load_palette
from reedpath.phrase import timing_of
from reedpath.wording import Catalogue, harp_words, key_words, left_out_blocks, named_words, position_words

__all__ = ["contents_of"]

# characters of a title that still fit a line at each size, sizes in points; from trial
TITLE_SIZES = ((34, 25), (64, 19), (140, 15))
SMALLEST_TITLE = 12
# characters of a title in the foot of a page
FOOT_TITLE = 60
# characters after which a word may be broken anywhere
LONG_WORD = 24
# order of the cautions: what can hurt first
CAUTIONS = ("dizzy", "lungs", "pain", "ears", "sharing", "reeds", "law")

_LONG = re.compile(rf"\S{{{LONG_WORD}}}(?=\S)")


def _breakable(text: str) -> str:
    """The text with a place to break in words too long for a line."""
    return _LONG.sub(lambda match: match[0] + "\u200b", text)


def _title(lesson: Lesson, catalogue: Catalogue) -> dict[str, Any]:
    text = clean_text(lesson.title) or _capital(harp_words(lesson.route.harp, catalogue))
    size = next((size for length, size in TITLE_SIZES if len(text) <= length), SMALLEST_TITLE)
    foot = text if len(text) <= FOOT_TITLE else text[: FOOT_TITLE - 1].rstrip() + "…"
    return {"text": _breakable(text), "plain": text, "size": size, "foot": _breakable(foot)}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def facts_of(sheet: Sheet, catalogue: Catalogue) -> list[dict[str, str]]:
    """Label and value of what a player must know first."""
    route = sheet.route
    bpm = round(timing_of(route.phrase).tempos[0].bpm)
    feel = "straight" if route.phrase.swing == 1 else "swing"
    facts = {"harp": harp_words(route.harp, catalogue, with_tuning=route.harp.tuning.name != "standard")}
    if route.position:
        facts["position"] = position_words(route.position, catalogue)
    facts["key"] = key_words(route.phrase.key, catalogue)
    facts["tempo"] = f"{catalogue.say('tempo.quarter', bpm=bpm)}, {catalogue.say(f'tempo.{feel}')}"
    if route.level:
        facts["level"] = named_words("level", route.level, catalogue)
    return [{"label": catalogue.say(f"sheet.{name}"), "value": _capital(value)} for name, value in facts.items()]


def _legend(sheet: Sheet, catalogue: Catalogue) -> list[dict[str, str]]:
    signs = (*moves_legend(sheet, catalogue), *signs_legend(sheet, catalogue))
    rounded = any(not note.is_exact for note in sheet.notes)
    rows = [{"sign": sign.sign, "words": sign.words} for sign in signs]
    if rounded:
        sign, _, words = catalogue.say("tab.rounded").partition(" ")
        rows.append({"sign": sign, "words": words})
    return rows


def _left_out(sheet: Sheet, catalogue: Catalogue) -> list[dict[str, Any]]:
    """What the lesson does not hold of its source, and what was guessed: headings with their lines."""
    blocks = left_out_blocks(left_out_of(sheet), catalogue)
    return [{"title": block.title, "lines": [_breakable(line) for line in block.lines]} for block in blocks]


def _words(catalogue: Catalogue) -> dict[str, str]:
    names = ("score", "ribbon", "steps", "ladder", "spots", "cautions", "legend", "chart", "changes", "done")
    words = {name: catalogue.say(f"sheet.{name}") for name in names}
    words["page"] = catalogue.say("sheet.page", page="{page}", pages="{pages}")
    words["empty"] = catalogue.say("route.empty")
    words["notation"] = catalogue.say("sheet.notation")
    return words


def contents_of(lesson: Lesson, *, catalogue: Catalogue, paper: Paper) -> dict[str, Any]:
    """Everything that the template sets, in plain values; pictures as SVG text."""
    sheet = sheet_of(lesson)
    has_notes = bool(sheet.notes)
    return {
        "lang": catalogue.name,
        "paper": paper.paper,
        "margin": paper.margin_mm,
        "inks": dict(load_palette("paper").inks),
        "title": _title(lesson, catalogue),
        "facts": facts_of(sheet, catalogue),
        "notation": named_words("notation", sheet.notation, catalogue),
        "legend": _legend(sheet, catalogue),
        "chart": lesson_chart(sheet, catalogue),
        "score": score_systems(lesson, catalogue, width_mm=paper.text_width_mm) if has_notes else [],
        "ribbon": lesson_ribbon(sheet, catalogue) if has_notes else [],
        "changes": change_rows(sheet, catalogue),
        "left_out": _left_out(sheet, catalogue),
        "steps": step_blocks(sheet, lesson, catalogue),
        "spots": spot_rows(sheet, lesson, catalogue),
        "ladder": ladder_rows(sheet, lesson, catalogue),
        "cautions": [catalogue.say(f"caution.{name}") for name in CAUTIONS],
        "words": _words(catalogue),
    }
