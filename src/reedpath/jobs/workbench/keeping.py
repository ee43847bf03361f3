"""From the workbench to the shelf, a draft's phrase and a lesson of it; from a file or the shelf to the workbench."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec.structs import replace

from reedpath.errors import ReadError
from reedpath.jobs.band_choices import BandChoice, encode_band
from reedpath.jobs.disk import read_bytes
from reedpath.jobs.progress import Progress
from reedpath.jobs.shelf_lessons import played_route
from reedpath.jobs.sources import SourceChoice, read_source
from reedpath.jobs.workbench.draft import Draft, encode_draft, read_draft
from reedpath.jobs.workbench.settling import with_parts
from reedpath.lesson import decode_lesson
from reedpath.phrase import decode_phrase, encode_phrase, performed
from reedpath.readers import DEFAULT_LIMITS, Option, find_reader, reader_of
from reedpath.readers.decoding import decode_text, looks_like_text
from reedpath.shelf import (
    KeptLesson,
    KeptPhrase,
    LessonToKeep,
    PhrasePlayed,
    Shelf,
    add_lesson_version,
    add_phrase,
    all_drafts,
    draft_steps,
    new_draft,
)

# formats that are typed: their text goes into the field where it is edited
TYPED = ("abc", "fret-tab", "harmonica-tab")


def typed_formats() -> tuple[tuple[str, str], ...]:
    """Names and titles of the formats that are typed."""
    return tuple((name, reader_of(name).title) for name in TYPED)


class BroughtFile(msgspec.Struct, frozen=True):
    """A file that was brought in: its text where it is typed, else the phrase in it, as its file's bytes."""

    text: str = ""
    phrase: bytes = b""


def read_brought(file: Path, name: str, options: Mapping[str, Option], *, progress: Progress) -> BroughtFile:
    """What a file holds, a job of its own, since nobody knows what it asks of a reader.

    options : which of its parts, tracks or tunes is wanted, as the reader names them; none for its own choice.
    """
    data = read_bytes(file, most_bytes=DEFAULT_LIMITS.source_bytes)
    if not options and looks_like_text(data) and find_reader(data, name=name).name in TYPED:
        return BroughtFile(text=decode_text(data))
    read = read_source(data, name=name, choice=SourceChoice(options=options))
    return BroughtFile(phrase=encode_phrase(read.phrase))


def draft_of_phrase(shelf: Shelf, number: int) -> int:
    """The draft of a phrase of the shelf: the one that it was saved from, or that was made of it, else a new one."""
    phrase = shelf.get(KeptPhrase, number)
    for one in all_drafts(shelf):
        with suppress(ReadError):  # a draft that came in a zip and can't be read is told when it is opened itself
            if (
                f'"{phrase.uid}"' in (now := draft_steps(shelf, one.number).now)
                and read_draft(now).kept == phrase.uid
            ):
                return one.number
    read = decode_phrase(phrase.data.encode())
    draft = Draft(
        title=phrase.title, base=performed(read), phrase=performed(read), kept=phrase.uid, name=phrase.source
    )
    return new_draft(shelf, encode_draft(draft), title=phrase.title)


def _taught(draft: Draft, lesson_file: str) -> PhrasePlayed:
    """The phrase as it is kept: at its own pitch, with the parts that are marked, and what its route asks for."""
    lesson = decode_lesson(lesson_file.encode())
    assert draft.phrase is not None
    phrase = replace(draft.phrase, title=lesson.title)
    if draft.parts:
        marked = with_parts(lesson.route, draft).phrase.parts
        phrase = replace(performed(phrase), parts=marked)
    return replace(played_route(lesson.route, lesson.title, draft.name), phrase=phrase)


def save_phrase(shelf: Shelf, draft: Draft, lesson_file: str) -> KeptPhrase:
    """Put a draft's phrase on the shelf; one that was saved before, and is there still, becomes what it is now.

    lesson_file : a lesson of its route, which says what it is called and how hard it is.
    """
    played = _taught(draft, lesson_file)
    there = shelf.all(KeptPhrase, uid=draft.kept) if draft.kept else []
    with shelf.step("add"):
        kept, is_new = add_phrase(shelf, played)
        if there and is_new:
            now = replace(kept, number=there[0].number, uid=there[0].uid, tags=there[0].tags, added=there[0].added)
            shelf.remove(kept)
            shelf.change(now)
            return now
    return kept


def save_lesson(shelf: Shelf, draft: Draft, lesson_file: str) -> int:
    """Put a lesson of a draft on the shelf; its number. One of its title that is there gets a further version.

    What was chosen of the band goes with it, unless the lesson that is there has its own.
    """
    played = _taught(draft, lesson_file)
    with shelf.step("add"):
        version, _ = add_lesson_version(shelf, LessonToKeep(played.title, lesson_file.encode(), taught=(played,)))
        lesson = shelf.get(KeptLesson, version.lesson)
        if draft.band != BandChoice() and not lesson.band:
            shelf.change(replace(lesson, band=encode_band(draft.band)))
    return version.lesson
