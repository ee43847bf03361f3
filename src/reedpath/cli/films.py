"""Films, from the terminal."""

from __future__ import annotations

from pathlib import Path

from reedpath.cli.lessons import progress_display
from reedpath.cli.printing import catalogue_for, print_data, print_written, written_as_data
from reedpath.errors import SettingsError
from reedpath.film import FilmWishes, TakeWishes
from reedpath.jobs import PractiseWishes, Written, make_film, make_take_film
from reedpath.sound import Backing, PlayAlong, Turns

__all__ = ["film_of_lesson", "film_of_takes", "refuse_what_is_heard"]


def _tell(out: Path, written: Written, *, json: bool) -> None:
    if json:
        print_data(written_as_data(out.parent, written))
    else:
        print_written(out.parent, written, catalogue_for(None))


def film_of_lesson(
    folder: Path, out: Path, heard: PractiseWishes, *, screen: str, palette: str, steps: bool, language: str | None,
    replace: bool, json: bool,
) -> None:  # fmt: skip
    """Make the film of a lesson, sounding as a play-along does, and say what was made."""
    if heard.play.turns is Turns.CALL and not isinstance(heard.play, Backing):
        raise SettingsError("call and response needs the band's rounds", hint="say --band")
    wishes = FilmWishes(screen, palette, language or "", heard.rungs or None, steps, play=heard.play)
    with progress_display(catalogue_for(None)) as progress:
        written = make_film(folder, wishes, out, replace=replace, progress=progress)
    _tell(out, written, json=json)


def refuse_what_is_heard(heard: PractiseWishes) -> None:
    """A SettingsError where something is asked of the sound of a teacher's own film."""
    if heard.play != PlayAlong():
        raise SettingsError(
            "the teacher's film keeps its own sound", hint="leave out --band, --count-in, --click, --muted, --slaps"
        )
    if heard.rungs:
        raise SettingsError("the teacher's film has its own tempos", hint="leave out --tempos")


def film_of_takes(
    folder: Path, out: Path, *, over: Path | None, beside: Path | None, strip: str | None, screen: str, palette: str,
    language: str | None, replace: bool, json: bool,
) -> None:  # fmt: skip
    """Lay a lesson's strip over or beside a teacher's film and say what was made."""
    film = over or beside
    if film is None or (over and beside):
        raise SettingsError("the strip goes over a film or beside it", hint="give --over or --beside")
    wishes = TakeWishes("over" if over else "beside", screen, palette, language or "")
    with progress_display(catalogue_for(None)) as progress:
        written = make_take_film(folder, film, wishes, out, overlay=strip, replace=replace, progress=progress)
    _tell(out, written, json=json)
