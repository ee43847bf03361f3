"""The contents of the hand-out of several pieces: what they share once, then each with its versions."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from reedpath.harp import Harp
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    PlayedPiece,
    by_line,
    in_language,
    play_through_rounds,
    taught_route,
)
from reedpath.page.chart_svg import ChartLook, format_chart_svg
from reedpath.page.handout.contents import (
    CHART_LETTERS,
    RIBBON_LETTERS,
    breakable,
    facts_of,
    in_hand_out_face,
    in_print,
    legend_rows,
    lesson_ribbon,
    of_the_paper,
    score_systems,
    title_for_paper,
    told_of,
)
from reedpath.page.handout.piece_groups import (
    PieceGroup,
    groups_of_pieces,
    said_of_pieces,
    unlike_versions,
)
from reedpath.page.handout.rows import rung_name, rung_tempo
from reedpath.page.handout.typesetting import Paper
from reedpath.page.ribbon.svg import format_signs_svg
from reedpath.page.score.musicxml import score_of
from reedpath.page.score.sheet import Sheet, sheet_of
from reedpath.page.score.versions import encode_versions
from reedpath.wording import Catalogue, capital, full_harp_words

# what the list of pieces tells of each, by the names of the catalogues
LISTED = ("harp", "position", "tempo", "level")


def _between(names: Sequence[str]) -> str:
    """Names of versions where they say the same once, one after the other where not."""
    return " / ".join(dict.fromkeys(filter(None, names)))


def _listed(group: PieceGroup, words: Catalogue) -> dict[str, Any]:
    """A row of the list of pieces."""
    facts = [{row["label"]: row["value"] for row in facts_of(one.route, words)} for one in group.lessons]
    tempo = words.say("sheet.tempo")
    for told, one in zip(facts, group.lessons, strict=True):
        told[tempo] = rung_tempo(sheet_of(one), one.ladder[-1], Fraction(0), words)
    names = [words.say(f"sheet.{name}") for name in LISTED]
    return {
        "number": str(group.number),
        "title": breakable(group.title(words)),
        "label": group.name,
        "cells": [_between([one.get(name, "") for one in facts]) for name in names],
    }


def _chart(harp: Harp, groups: Sequence[PieceGroup], words: Catalogue) -> dict[str, str]:
    """The chart of a harp with all that the pieces on it use, and which these are."""
    routes = [piece.lesson.route for group in groups for piece in group.pieces if piece.harp == harp]
    used = [move for route in routes for move in route.moves()]
    tonics = {route.phrase.key.tonic if route.phrase.key else None for route in routes}
    tonic = tonics.pop() if len(tonics) == 1 else None
    look = ChartLook(layout=in_print(CHART_LETTERS), heading=False, legend=False)
    here = (group for group in groups if any(piece.harp == harp for piece in group.pieces))
    numbers = list(dict.fromkeys(group.number for group in here))
    return {
        "title": capital(full_harp_words(harp, words)),
        "pieces": words.say("pieces_shown.numbers", numbers=words.join(numbers), count=len(numbers)),
        "picture": in_hand_out_face(format_chart_svg(harp, used_moves=used, tonic=tonic, look=look, catalogue=words)),
    }


def _version(
    lesson: Lesson, sheet: Sheet, name: str, words: Catalogue, *, score_width_mm: float | None
) -> dict[str, Any]:
    """One level of a piece.

    score_width_mm : of a score of its own; None where all levels share one.
    """
    told = told_of(sheet, lesson, words)
    score: list[str] = []
    ribbon: list[str] = []
    if sheet.notes:
        folded = score_of(lesson, words, fold_repeats=True)
        ribbon = lesson_ribbon(sheet, folded.repeated, words, has_legend=False)
        if score_width_mm is not None:
            score = score_systems(folded.encoded(), lesson.title, width_mm=score_width_mm)
    return {**told, "facts": [*told["facts"], *told["asked"]], "name": name, "score": score, "ribbon": ribbon}


def _fact_lines(versions: Sequence[dict[str, Any]], words: Catalogue) -> list[dict[str, Any]]:
    """What a player must know first: said once where all versions have it, else of each; a name tells the level."""
    if len(versions) == 1 and not versions[0]["name"]:
        return [{"name": "", "facts": versions[0]["facts"]}]
    level = words.say("sheet.level")
    lines = [
        {"name": one["name"], "facts": [fact for fact in one["facts"] if fact["label"] != level]} for one in versions
    ]
    if any(line["facts"] != lines[0]["facts"] for line in lines):
        return lines
    levels = {"label": level, "value": _between([one["name"] for one in versions])}
    return [{"name": "", "facts": [*lines[0]["facts"], levels]}]


def _piece(
    lesson: LessonOfPieces, group: PieceGroup, heading: str, before: Sequence[str], words: Catalogue, paper: Paper
) -> dict[str, Any]:
    unlike, names = unlike_versions(lesson, group, words) if len(group.pieces) > 1 else (group.lessons, ("",))
    lessons = [in_language(one, words.name) for one in unlike]
    sheets = [sheet_of(one) for one in lessons]
    width_mm = paper.text_width_mm
    may_share = len(lessons) > 1 and any(sheet.notes for sheet in sheets)
    shared = encode_versions(lessons, names, catalogue=words) if may_share else None
    score = score_systems(shared.musicxml, group.title(words), width_mm=width_mm) if shared else []
    versions = [
        _version(one, sheet, name, words, score_width_mm=None if shared else width_mm)
        for one, sheet, name in zip(lessons, sheets, names, strict=True)
    ]
    lines = words.say("pieces_shown.lines", names=words.join(names)) if shared and shared.on_one_staff else ""
    return {
        "title": breakable(heading),
        "label": group.name,
        "before": [breakable(text) for text in before],
        "facts": _fact_lines(versions, words),
        "score": score,
        "lines": lines,
        "versions": versions,
    }


def _rounds(lesson: LessonOfPieces, groups: Sequence[PieceGroup], words: Catalogue) -> list[dict[str, Any]]:
    """The rounds of the last play-through: name of the tempo, then each piece with its own."""
    numbers = {place: str(group.number) for group in groups for place in group.places}

    def tempo(one: PlayedPiece) -> dict[str, str]:
        sheet = sheet_of(lesson.pieces[one.piece].lesson)
        return {"number": numbers[one.piece], "tempo": rung_tempo(sheet, one.rung, Fraction(0), words)}

    return [
        {"name": rung_name(played[0].rung, words), "tempos": [tempo(one) for one in played]}
        for played in play_through_rounds(lesson)
    ]


def contents_of_pieces(lesson: LessonOfPieces, *, catalogue: Catalogue, paper: Paper) -> dict[str, Any]:
    """Everything that the template sets, in plain values; pictures as SVG text."""
    groups = groups_of_pieces(lesson)
    lessons = [one for group in groups for one in group.lessons]
    sheets = [sheet_of(in_language(one, catalogue.name)) for one in lessons]
    of_paper = of_the_paper(paper, catalogue)
    columns = ["", catalogue.say("pieces_shown.title")]
    columns += [catalogue.say(f"sheet.{name}") for name in LISTED]
    routes = [taught_route(one) for one in lessons if one.route.events]
    said = said_of_pieces(lesson, groups, catalogue)
    return {
        **of_paper,
        "words": {
            **of_paper["words"],
            "harps": catalogue.say("pieces_shown.harps", count=len(lesson.harps)),
            "after": said.ending,
        },
        "title": title_for_paper(lesson.title or groups[0].title(catalogue)),
        "by": breakable(by_line(lesson)),
        "author": lesson.author,
        "columns": columns,
        "listed": [_listed(group, catalogue) for group in groups],
        "before": [breakable(text) for text in said.opening],
        "legend": legend_rows(sheets, catalogue),
        "signs": [in_hand_out_face(format_signs_svg(routes, catalogue=catalogue, layout=in_print(RIBBON_LETTERS)))]
        if routes
        else [],
        "charts": [_chart(harp, groups, catalogue) for harp in lesson.harps],
        "pieces": [
            _piece(lesson, group, heading, before, catalogue, paper)
            for group, heading, before in zip(groups, said.headings, said.before, strict=True)
        ],
        "after": [breakable(text) for text in said.last],
        "rounds": _rounds(lesson, groups, catalogue),
    }
