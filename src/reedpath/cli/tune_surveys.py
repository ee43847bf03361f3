"""Many tunes surveyed, on the terminal and as a table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_errors,
    print_line,
    print_table,
    print_written,
    progress_display,
    written_as_data,
)
from reedpath.cli.reading import source_choice
from reedpath.errors import SettingsError

if TYPE_CHECKING:
    from reedpath.arrange import SurveyedTunes
    from reedpath.jobs import RouteRequest
    from reedpath.wording import Catalogue

# columns of the table that fit a terminal
SHOWN = ("tune", "file", "key", "harp", "position", "moved", "difficulty", "truth", "level", "changes")
# letters of a cell, at most; ours: ten columns on a wide terminal
WIDEST = 28


@dataclass(frozen=True, slots=True)
class TunesAsked:
    """What was said after ``survey`` of many tunes, as it was said.

    files : the files and folders that were named. of_source : what is said of each source.
    """

    files: tuple[Path, ...]
    of_source: Mapping[str, Any]
    request: RouteRequest
    top: int
    tune_for: int | None
    out: Path | None
    replace: bool
    cluster: str | None


def show_tunes(asked: TunesAsked, *, language: str | None, json: bool) -> None:
    """Print what plays each of many tunes best, and write it as a table where one is asked for."""
    from reedpath.jobs import pool_at, survey_tunes, write_tune_survey

    if asked.tune_for is not None:
        raise SettingsError("cli.for_one_phrase", option="--tune-for")
    if asked.top < 1:
        raise SettingsError("jobs.no_lines", lines=asked.top)
    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        found = survey_tunes(
            asked.files,
            asked.request,
            choice=source_choice(**asked.of_source),
            pool=pool_at(asked.cluster),
            progress=progress,
        )
    print_errors(found.unread, catalogue)
    written = None
    if asked.out is not None and found.tunes:
        written = write_tune_survey(found, asked.out, language=catalogue.name, over=asked.replace)
    if json:
        from reedpath.arrange import surveyed_tunes_as_data
        from reedpath.wording import error_words

        data = surveyed_tunes_as_data(found) | {
            "unread": [{"file": one.where.file, "says": error_words(one, catalogue)} for one in found.unread]
        }
        print_data(data | (written_as_data(asked.out, written) if asked.out and written else {}))
    else:
        _print_tunes(found, asked.top, catalogue, is_written=written is not None)
        if asked.out is not None and written is not None:
            print_line()
            print_written(asked.out, written, catalogue)
    if found.unread:
        raise SystemExit(2)


def _cut(text: str) -> str:
    return text if len(text) <= WIDEST else text[: WIDEST - 1] + "…"


def _print_tunes(found: SurveyedTunes, top: int, catalogue: Catalogue, *, is_written: bool) -> None:
    from reedpath.arrange import level_names
    from reedpath.page import tune_cells, tune_columns, tune_summary

    print_line(catalogue.say("tunes.title", count=len(found.tunes)))
    if not found.tunes:
        return
    columns = tune_columns(catalogue)
    places = [index for index, column in enumerate(columns) if column.name in SHOWN]
    rows = [[columns[place].heading for place in places]]
    for tune in found.tunes[:top]:
        cells = tune_cells(tune, found, catalogue, level_names())
        rows.append([_cut(cells[place].text) for place in places])
    print_line()
    print_table(rows, right=[at for at, place in enumerate(places) if columns[place].is_right])
    left = len(found.tunes) - top
    if left > 0 and not is_written:
        print_line()
        print_line(catalogue.say("tunes.more", count=left, all=len(found.tunes)))
    print_line()
    print_line(tune_summary(found, catalogue))
    print_line(catalogue.say("tunes.legend"))
