"""Films, from the terminal."""

from __future__ import annotations

from pathlib import Path

from reedpath.cli.lessons import progress_display
from reedpath.cli.printing import catalogue_for, print_data, print_line
from reedpath.cli.reading import keys_of
from reedpath.errors import SettingsError
from reedpath.film import FilmWishes, TakeWishes
from reedpath.jobs import make_film, make_take_film

__all__ = ["film_of_lesson", "film_of_takes"]


def _tell(out: Path, files: tuple[str, ...], *, json: bool) -> None:
    if json:
        print_data({"folder": str(out.parent), "files": list(files)})
        return
    print_line(str(out.parent))
    for name in files:
        print_line(f"  {name}")


def film_of_lesson(
    folder: Path, out: Path, *, screen: str, palette: str, tempos: str | None, steps: bool, language: str | None,
    json: bool,
) -> None:  # fmt: skip
    """Make the film of a lesson and say what was made."""
    wishes = FilmWishes(screen, palette, language or "", keys_of(tempos) or None, steps)
    with progress_display(catalogue_for(None)) as progress:
        files = make_film(folder, wishes, out, progress=progress)
    _tell(out, files, json=json)


def film_of_takes(
    folder: Path, out: Path, *, over: Path | None, beside: Path | None, strip: str | None, screen: str, palette: str,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Lay a lesson's strip over or beside a teacher's film and say what was made."""
    film = over or beside
    if film is None or (over and beside):
        raise SettingsError("the strip goes over a film or beside it", hint="give --over or --beside")
    wishes = TakeWishes("over" if over else "beside", screen, palette, language or "")
    with progress_display(catalogue_for(None)) as progress:
        files = make_take_film(folder, film, wishes, out, overlay=strip, progress=progress)
    _tell(out, files, json=json)
