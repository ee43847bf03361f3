"""Printing: data, lines and tables on standard output, plain enough for a pipe."""

from __future__ import annotations

import os
import re
import sys
import time
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

from reedpath.additions import added_text
from reedpath.errors import ReedpathError
from reedpath.wording import catalogue_names, load_catalogue

if TYPE_CHECKING:
    from pathlib import Path

    from reedpath.jobs import Progress, ProgressStep, Written
    from reedpath.phrase import LeftOut
    from reedpath.wording import Catalogue

# seconds; a time to come from this on is told in minutes; ours
SHORT_SECONDS = 95.0
# characters of the bar that shows progress; ours
BAR_WIDTH = 24

# characters that a terminal obeys: controls but for the ends of lines and tabs, and what turns the writing around;
# Unicode 15, sections 23.1 and 23.2
_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")

# lines of what is left out of a source; ours: what fits a screen beside the answer itself
MOST_LEFT_OUT = 12


def print_line(text: str = "") -> None:
    """One line of text; what the terminal's encoding can't show, or would obey, is shown as a question mark."""
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(_OBEYED.sub("?", text).encode(encoding, "replace").decode(encoding) + "\n")


def print_data(data: Any) -> None:
    """Data as JSON, readable, one value a line where that helps nobody to write less."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=1)
    print_line(_OBEYED.sub(lambda match: f"\\u{ord(match[0]):04x}", text))


def print_errors(errors: Iterable[ReedpathError], catalogue: Catalogue) -> None:
    """Errors where errors go, a line each."""
    from reedpath.wording import error_words

    for error in errors:
        sys.stderr.write(f"reedpath: {error_words(error, catalogue)}\n")


def _width(text: str) -> int:
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def print_table(rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> None:
    """Rows as columns two spaces apart; the columns numbered in ``right`` are flush right."""
    widths = [max(map(_width, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [
            " " * (widths[i] - _width(cell)) + cell if i in right else cell + " " * (widths[i] - _width(cell))
            for i, cell in enumerate(row)
        ]
        print_line("  ".join(cells).rstrip())


def print_written(folder: Path, written: Written, catalogue: Catalogue) -> None:
    """A folder, the files that were made in it, and what became of those that were there."""
    print_line(str(folder))
    for name in written.files:
        print_line(f"  {name}")
    for old, new in written.kept.items():
        print_line(catalogue.say("files.kept", old=old, new=new))
    for name in written.files:
        if (page := folder / name).suffix != ".html" or not page.is_file():
            continue
        from reedpath.jobs.lesson_pages import too_many_megabytes  # which enters the room of pages

        if megabytes := too_many_megabytes(page.stat().st_size):
            print_line(catalogue.say("files.large_page", name=name, megabytes=megabytes))
    if written.healed:
        print_line(catalogue.say("files.healed"))


def written_as_data(folder: Path, written: Written) -> dict[str, Any]:
    """The same as data."""
    return {"folder": str(folder), "files": list(written.files), "kept": written.kept, "healed": written.healed}


def print_left_out(left_out: Iterable[LeftOut], catalogue: Catalogue) -> None:
    """What a phrase does not hold of its source, a blank line before; nothing where it holds everything."""
    from reedpath.wording import left_out_blocks

    for block in left_out_blocks(left_out, catalogue, most=MOST_LEFT_OUT):
        print_line()
        print_line(block.title)
        for line in block.lines:
            print_line(f"  {line}")


def catalogue_for(language: str | None) -> Catalogue:
    """The catalogue asked for, or that of the system's language, or English."""
    if language is not None:
        return load_catalogue(language)
    system = os.environ.get("LC_ALL") or os.environ.get("LC_MESSAGES") or os.environ.get("LANG") or ""
    wanted = system.partition("_")[0].partition(".")[0].lower()
    # "c" and "posix" are no languages; others may be added, which takes longer to find out
    known = wanted in catalogue_names() or (wanted not in {"", "c", "posix"} and added_text("languages", wanted))
    return load_catalogue(wanted if known else "en")


def _language_asked(arguments: Sequence[str]) -> str | None:
    """The language that the arguments ask for, should they be wrong otherwise; None for the system's."""
    for place, word in enumerate(arguments):
        name, equals, value = word.partition("=")
        if name in {"--language", "--languages"}:
            said = value if equals else "".join(arguments[place + 1 : place + 2])
            return said.partition(",")[0].strip()
    return None


def catalogue_of_words(arguments: Sequence[str]) -> Catalogue:
    """The catalogue of a command's words: English where neither the language asked for nor the system's holds."""
    for language in (_language_asked(arguments), None):
        with suppress(ReedpathError):
            return catalogue_for(language)
    return load_catalogue("en")


def _time_left_words(seconds: float, catalogue: Catalogue) -> str:
    """A time to come, no finer than it can be told: by tens of seconds, or minutes."""
    if seconds < SHORT_SECONDS:
        return catalogue.say("progress.seconds_left", seconds=max(10, 10 * round(seconds / 10)))
    return catalogue.say("progress.minutes_left", minutes=round(seconds / 60))


@contextmanager
def progress_display(catalogue: Catalogue) -> Iterator[Progress]:
    """A bar on the terminal that names the step at work, and about how long the rest takes where that can be told.

    Nothing where standard error is no terminal.
    """
    from reedpath.jobs import seconds_left, silent

    if not sys.stderr.isatty():
        yield silent
        return

    started: list[float] = []

    def time_left(step: ProgressStep) -> str:
        if step.share == 0.0:
            started[:] = [time.monotonic()]
        left = seconds_left(step.share, time.monotonic() - started[0]) if started else None
        return "" if left is None else f" ({_time_left_words(left, catalogue)})"

    def show(step: ProgressStep) -> None:
        values: dict[str, str | float] = {"rung": step.detail} if step.detail else {}
        text = catalogue.say(f"progress.{step.name}", variant=0, **values)
        is_counted = step.total > 1 or step.share is None
        done = step.done / max(step.total, 1) if is_counted else step.share
        filled = round(BAR_WIDTH * (done or 0.0))
        bar = "#" * filled + "-" * (BAR_WIDTH - filled)
        count = f"{step.done}/{step.total} " if is_counted else ""
        line = f"[{bar}] {count}{text}{time_left(step)}"
        import shutil  # loads what packs, which commands that tell no progress have no need of

        # over the line before it, and no wider than the terminal, so that it stays one line
        sys.stderr.write("\r\x1b[K" + line[: shutil.get_terminal_size().columns - 1])
        sys.stderr.flush()

    try:
        yield show
    finally:
        sys.stderr.write("\r\x1b[K")
        sys.stderr.flush()
