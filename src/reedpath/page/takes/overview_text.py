"""The overview of many takes as text, to be read on a terminal or sent on, and as a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.page.csv_tables import encode_csv
from reedpath.page.takes.overview import TakesOverview, ToldTake
from reedpath.page.takes.overview_words import (
    by_student,
    change_words,
    common_words,
    counted_words,
    days_words,
    heard_words,
    left_words,
    lesson_words,
    place_words,
    student_words,
    unanswered_words,
    when_words,
)
from reedpath.wording import Catalogue

COLUMNS = (
    "student", "recorded", "file", "lesson", "piece", "state", "right", "notes", "bpm", "tempo_percent", "change",
    "last_recorded", "last_right", "last_notes", "last_bpm", "better_in", "worse_in", "say", "folder",
)  # fmt: skip


def _take_lines(pieces: Sequence[ToldTake], words: Catalogue) -> Iterator[str]:
    """A take; of several pieces, each that is heard in it."""
    is_first = all(take.last is None for take in pieces)
    yield f"{lesson_words(pieces, words)}, {when_words(pieces[0])}"
    for take in pieces:
        yield heard_words(take, words, with_piece=len(pieces) > 1)
        change = change_words(take, words)
        if change and (take.last is not None or (is_first and take is pieces[-1])):
            yield change
            yield from place_words(take, words)
    for take in pieces:
        if take.say:
            yield words.say("week.say")
            yield from (f"  {one}" for one in take.say)


def _listed(heading: str, lines: list[str]) -> list[str]:
    return ["", heading, *(f"- {one}" for one in lines)] if lines else []


def format_takes(overview: TakesOverview, words: Catalogue) -> str:
    """The overview as text."""
    days = days_words(overview, words)
    title = words.say("week.title")
    lines = [f"{title}, {days}" if days else title, counted_words(overview, words)]
    for student, takes in by_student(overview):
        lines += ["", student_words(student, words)]
        for pieces in takes:
            lines += [f"  {line}" for line in _take_lines(pieces, words)]
    if any(not one.student for one in overview.takes):
        lines += ["", words.say("week.who_hint")]
    lines += _listed(words.say("week.common"), [common_words(one, words) for one in overview.common])
    lines += _listed(words.say("week.unanswered"), [unanswered_words(one, words) for one in overview.unanswered])
    left = list(left_words(overview, words))
    return "\n".join([*lines, *([""] if left else []), *left]) + "\n"


def _row(take: ToldTake) -> list[str | float | None]:
    last = take.last
    state = "answered now" if take.is_new else "answered before"
    return [
        take.student, take.recorded, take.file, take.lesson, take.piece, state, take.right, take.notes, take.bpm,
        take.tempo_percent, take.change.value,
        *(("", "", "", "") if last is None else (last.recorded, last.right, last.notes, last.bpm)),
        take.better_in, take.worse_in, " ".join(take.say), take.folder,
    ]  # fmt: skip


def encode_takes_table(overview: TakesOverview) -> bytes:
    """The overview as a table for spreadsheets."""
    rows: list[list[str | float | None]] = [list(COLUMNS), *(_row(take) for take in overview.takes)]
    for one in overview.unanswered:
        told = {"student": one.student, "file": one.file, "state": one.why.value, "say": one.error}
        rows.append([told.get(name, "") for name in COLUMNS])
    return encode_csv(rows)
