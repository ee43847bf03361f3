"""The contents of a hand-out, as plain data for the page's template."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.lesson import Lesson, by_line, in_language, techniques_words
from reedpath.page.chart_svg import ChartLook, format_route_chart_svg
from reedpath.page.drawing.drawing_data import Layout, load_layout
from reedpath.page.drawing.palette import load_palette
from reedpath.page.drawing.svg import FONTS
from reedpath.page.engrave.engraver import ScoreLook, engrave_pages
from reedpath.page.handout.rows import change_rows, ladder_rows, spot_rows, step_blocks
from reedpath.page.handout.typesetting import Paper
from reedpath.page.ribbon.repeats import RepeatedSpan
from reedpath.page.ribbon.svg import RibbonLook, ribbon_strips
from reedpath.page.score.bars import ScoreBar
from reedpath.page.score.elements import clean_text
from reedpath.page.score.musicxml import score_of
from reedpath.page.score.repeating import RepeatedBars
from reedpath.page.score.sheet import Sheet, left_out_of, sheet_of
from reedpath.page.score.tab_legend import legend_of_sheets
from reedpath.phrase import metre_at, timing_of
from reedpath.wording import (
    CAUTIONS,
    Catalogue,
    capital,
    full_harp_words,
    harp_words,
    key_words,
    left_out_blocks,
    named_words,
    position_words,
    tempo_words,
)

# face of the hand-out, which its pictures share
FACE = "Libertinus Serif"

# rows that 8 points take, the least that is read with ease in print (common practice, no source): on a ribbon as
# wide as the text of an A4 sheet, and on a chart in its column there
RIBBON_LETTERS, CHART_LETTERS = 0.54, 0.7
# width of letters of the face against those that widths are known of; measured on the words of legends: 0.78 at most
LETTER_WIDTH = 0.8
# characters of a title that still fit a line at each size, sizes in points; from trial
TITLE_SIZES = ((34, 25), (64, 19), (140, 15))
SMALLEST_TITLE = 12
# characters of a title in the foot of a page
FOOT_TITLE = 60
# characters after which a word may be broken anywhere
LONG_WORD = 24
_LONG = re.compile(rf"\S{{{LONG_WORD}}}(?=\S)")


def score_systems(musicxml: bytes, title: str, *, width_mm: float) -> list[str]:
    """A score engraved, an SVG for each system."""
    look = ScoreLook(width_mm=width_mm, system_pages=True)
    return list(engrave_pages(musicxml, look=look, title=title))


def in_print(letters: float) -> Layout:
    """The layout of pictures on a sheet, none of whose letters are smaller than so many rows."""
    return replace(load_layout("sheet"), least_text=letters, letters=LETTER_WIDTH)


def in_hand_out_face(svg: str) -> str:
    """A picture with its texts in the face of the hand-out."""
    return svg.replace(f'font-family="{FONTS}"', f'font-family="{FACE}"')


def _in_beats(one: RepeatedBars, bars: Sequence[ScoreBar]) -> RepeatedSpan:
    """Bars that are played several times in a row, as the ribbon has them."""
    again = one.first + one.count
    edges = (one.first, again, again - one.ending, again + one.saved)
    onset, end, ending, other = (bars[index].onset if index < len(bars) else bars[-1].end for index in edges)
    return RepeatedSpan(onset, end, one.times, end - ending, bars[one.end - 1].end - other)


def lesson_ribbon(
    sheet: Sheet, repeated: Iterable[RepeatedBars], catalogue: Catalogue, *, has_legend: bool = True
) -> list[str]:
    """The ribbon of a lesson in strips, what its score repeats drawn once; first its legend where it has one."""
    repeats = [_in_beats(one, sheet.bars) for one in repeated]
    look = RibbonLook(
        layout=in_print(RIBBON_LETTERS), notation=sheet.notation, heading=False, legend=has_legend, in_print=True
    )
    drawn = ribbon_strips(sheet.route, look=look, parts=sheet.parts, catalogue=catalogue, repeats=repeats)
    strips = [in_hand_out_face(strip) for strip in drawn]
    # what the signs mean stands where they are first met
    return [strips[-1], *strips[:-1]] if has_legend else strips


def lesson_chart(sheet: Sheet, catalogue: Catalogue) -> str:
    """The chart of a lesson's harp."""
    look = ChartLook(layout=in_print(CHART_LETTERS), heading=False, legend=False)
    return in_hand_out_face(format_route_chart_svg(sheet.route, look=look, catalogue=catalogue))


def breakable(text: str) -> str:
    """The text with a place to break in words too long for a line."""
    return _LONG.sub(lambda match: match[0] + "\u200b", text)


def title_words(lesson: Lesson, catalogue: Catalogue) -> str:
    """The title of a lesson, its harp where it has none."""
    return clean_text(lesson.title) or capital(harp_words(lesson.route.harp, catalogue))


def title_for_paper(text: str) -> dict[str, Any]:
    """A title with the size that it fits the top of a page at, in points, and as it stands in the foot."""
    size = next((size for length, size in TITLE_SIZES if len(text) <= length), SMALLEST_TITLE)
    foot = text if len(text) <= FOOT_TITLE else text[: FOOT_TITLE - 1].rstrip() + "…"
    return {"text": breakable(text), "plain": text, "size": size, "foot": breakable(foot)}


def facts_of(route: Route, catalogue: Catalogue) -> list[dict[str, str]]:
    """Label and value of what a player must know first."""
    tempo = _first_tempo(route, catalogue)
    feel = "straight" if route.phrase.swing == 1 else "swing"
    facts = {"harp": full_harp_words(route.harp, catalogue)}
    if route.position:
        facts["position"] = position_words(route.position, catalogue)
    facts["key"] = key_words(route.phrase.key, catalogue)
    facts["tempo"] = f"{tempo}, {catalogue.say(f'tempo.{feel}')}"
    if route.level:
        facts["level"] = named_words("level", route.level, catalogue)
    return _rows(facts, catalogue)


def _first_tempo(route: Route, catalogue: Catalogue, *, share: float = 1.0) -> str:
    """The tempo that a route begins in, or a share of it, in whole beats."""
    bpm = timing_of(route.phrase).tempos[0].bpm * share
    return tempo_words(bpm, metre_at(route.phrase, route.phrase.pickup), catalogue, decimals=0)


def _rows(told: dict[str, str], catalogue: Catalogue) -> list[dict[str, str]]:
    """Labels, by their names in the catalogues, with their values."""
    return [{"label": catalogue.say(f"sheet.{name}"), "value": capital(value)} for name, value in told.items()]


def asked_of(route: Route, catalogue: Catalogue) -> list[dict[str, str]]:
    """Label and value of what a lesson asks: techniques with the hardest move of each, and how fast it is easy."""
    techniques = techniques_words(route, catalogue) or (catalogue.say("technique.single"),)
    tempo = _first_tempo(route, catalogue, share=min(1.0, route.comfortable))
    return _rows({"techniques": ", ".join(techniques), "comfortable": tempo}, catalogue) if route.events else []


def legend_rows(sheets: Sequence[Sheet], catalogue: Catalogue) -> list[dict[str, str]]:
    """The signs of the tab of one sheet or of several, each with its words."""
    meant = {
        "doubtful": any(one.event.doubtful for sheet in sheets for one in sheet.route.events),
        "rounded": any(not note.is_exact for sheet in sheets for note in sheet.notes),
    }
    rows = [{"sign": sign.sign, "words": sign.words} for sign in legend_of_sheets(sheets, catalogue)]
    for name in (name for name, is_meant in meant.items() if is_meant):
        sign, _, words = catalogue.say(f"tab.{name}").partition(" ")
        rows.append({"sign": sign, "words": words})
    return rows


def _left_out(sheet: Sheet, catalogue: Catalogue) -> list[dict[str, Any]]:
    """What the lesson does not hold of its source, and what was guessed: headings with their lines."""
    blocks = left_out_blocks(left_out_of(sheet), catalogue)
    return [{"title": block.title, "lines": [breakable(line) for line in block.lines]} for block in blocks]


def _words(catalogue: Catalogue) -> dict[str, str]:
    names = ("score", "ribbon", "steps", "ladder", "spots", "cautions", "legend", "chart", "changes", "done")
    words = {name: catalogue.say(f"sheet.{name}") for name in names}
    words["page"] = catalogue.say("sheet.page", page="{page}", pages="{pages}")
    words["empty"] = catalogue.say("route.empty")
    words["notation"] = catalogue.say("sheet.notation")
    return words


def told_of(sheet: Sheet, lesson: Lesson, catalogue: Catalogue) -> dict[str, Any]:
    """What is told of a lesson in words: its facts, what it asks, steps, changes, spots and tempos."""
    return {
        "facts": facts_of(sheet.route, catalogue),
        "asked": asked_of(sheet.route, catalogue),
        "changes": change_rows(sheet, catalogue),
        "left_out": _left_out(sheet, catalogue),
        "steps": step_blocks(sheet, lesson, catalogue),
        "spots": spot_rows(sheet, lesson, catalogue),
        "ladder": ladder_rows(sheet, lesson, catalogue),
    }


def of_the_paper(paper: Paper, catalogue: Catalogue) -> dict[str, Any]:
    """What every sheet has, whatever stands on it."""
    return {
        "lang": catalogue.name,
        "paper": paper.paper,
        "margin": paper.margin_mm,
        "inks": dict(load_palette("paper").inks),
        "cautions": [catalogue.say(f"caution.{name}") for name in CAUTIONS],
        "words": _words(catalogue),
    }


def contents_of(lesson: Lesson, *, catalogue: Catalogue, paper: Paper) -> dict[str, Any]:
    """Everything that the template sets, in plain values; pictures as SVG text."""
    lesson = in_language(lesson, catalogue.name)
    sheet = sheet_of(lesson)
    score: list[str] = []
    ribbon: list[str] = []
    if sheet.notes:
        folded = score_of(lesson, catalogue, fold_repeats=True)
        score = score_systems(folded.encoded(), lesson.title, width_mm=paper.text_width_mm)
        ribbon = lesson_ribbon(sheet, folded.repeated, catalogue)
    return {
        **of_the_paper(paper, catalogue),
        **told_of(sheet, lesson, catalogue),
        "title": title_for_paper(title_words(lesson, catalogue)),
        "by": breakable(by_line(lesson)),
        "author": lesson.author,
        "legend": legend_rows([sheet], catalogue),
        "chart": lesson_chart(sheet, catalogue),
        "score": score,
        "ribbon": ribbon,
    }
