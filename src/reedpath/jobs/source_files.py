"""Source files in folders, and the tunes in a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec.structs import replace

from reedpath.jobs.sources import SourceChoice
from reedpath.readers import DEFAULT_LIMITS, find_reader, reader_names, reader_of

__all__ = ["TUNE", "is_book", "sources_in", "tune_choices"]

# the reader whose files hold several tunes, and its choice of one
BOOK_FORMAT, TUNE = "abc", "tune"


def sources_in(folder: Path, lessons: Sequence[Path]) -> Iterator[Path]:
    """Files in a folder that a reader may know by their endings; those in lesson folders and hidden ones left out."""
    endings = {ending for name in reader_names() for ending in reader_of(name).suffixes}
    for path in sorted(folder.rglob("*")):
        is_hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        is_in_lesson = any(path.is_relative_to(one) for one in lessons)
        if path.suffix.lower() in endings and path.is_file() and not is_hidden and not is_in_lesson:
            yield path


def is_book(name: str, choice: SourceChoice) -> bool:
    """Whether a file of that name may hold several tunes of which all are wanted."""
    if TUNE in choice.options:
        return False
    is_named = Path(name).suffix.lower() in reader_of(BOOK_FORMAT).suffixes
    return is_named if choice.format is None else choice.format == BOOK_FORMAT


def tune_choices(data: bytes, *, name: str, choice: SourceChoice) -> list[SourceChoice]:
    """The choice for a source, or one for each of its tunes where it holds several and none of them is chosen.

    Raises
    ------
    ReadError
        When it is of no known format.
    """
    if not data or TUNE in choice.options:
        return [choice]
    if (choice.format or find_reader(data, name=name).name) != BOOK_FORMAT:
        return [choice]
    from reedpath.readers.abc import tune_names  # for a source of that format alone

    names = tune_names(data, limits=DEFAULT_LIMITS)
    if len(names) < 2:
        return [choice]
    return [replace(choice, options={**choice.options, TUNE: one}) for one in names]
