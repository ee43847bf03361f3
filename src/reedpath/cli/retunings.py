"""Showing on the terminal what small retunings save."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import catalogue_for, print_data, print_line, print_table
from reedpath.data import as_plain
from reedpath.harp import Move
from reedpath.wording import harp_words, move_words, shift_words

if TYPE_CHECKING:
    from reedpath.arrange import Retuning, RetuningSurvey
    from reedpath.jobs import ReadPhrase, RouteRequest
    from reedpath.wording import Catalogue


def retunings_as_data(found: RetuningSurvey) -> dict[str, Any]:
    """What retunings save as plain data."""
    ranked = [
        {"changes": as_plain(one.changes), "points": round(one.points, 4), "saves": round(one.saves, 4)}
        for one in found.ranked
    ]
    return {"points": round(found.points, 4), "retunings": ranked, "searched": found.searched}


def _changes(one: Retuning, catalogue: Catalogue) -> str:
    return catalogue.join(
        [
            catalogue.say(
                "retuning.reed",
                reed=move_words(Move((change.hole,), change.breath), catalogue),
                shift=shift_words(change.semitones, catalogue),
            )
            for change in one.changes
        ]
    )


def print_retunings(found: RetuningSurvey, title: str, catalogue: Catalogue) -> None:
    """Print what retunings save as a table under a title."""
    print_line(title)
    print_line()
    if not found.ranked:
        print_line(catalogue.say("retuning.none"))
        return
    rows = [[catalogue.say(f"retuning.{name}") for name in ("change", "points", "saves")]]
    rows.append([catalogue.say("retuning.now"), catalogue.number(found.points, decimals=1), ""])
    rows += [
        [
            _changes(one, catalogue),
            catalogue.number(one.points, decimals=1),
            catalogue.number(one.saves, decimals=1),
        ]
        for one in found.ranked
    ]
    print_table(rows, right=(1, 2))
    print_line()
    print_line(catalogue.say("retuning.searched", count=found.searched))
    print_line(catalogue.say("caution.reeds"))


def show_retunings(
    read: ReadPhrase, request: RouteRequest, *, reeds: int, top: int, language: str | None, json: bool
) -> None:
    """Print which small retunings of the best harp make a phrase easiest."""
    from reedpath.jobs import retunings_of

    harp, found = retunings_of(read.phrase, request, reeds=reeds, top=top)
    if json:
        print_data({"harp": harp.name, "tuning": harp.tuning.name} | retunings_as_data(found))
        return
    catalogue = catalogue_for(language)
    words, title = harp_words(harp, catalogue), read.phrase.title
    if title:
        heading = catalogue.say("retuning.title", count=reeds, harp=words, title=title)
    else:
        heading = catalogue.say("retuning.untitled", count=reeds, harp=words)
    print_retunings(found, heading, catalogue)
