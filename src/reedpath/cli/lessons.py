"""Making lessons from the terminal, with a display of progress."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_left_out,
    print_line,
    print_written,
    written_as_data,
)
from reedpath.data import as_plain
from reedpath.jobs import (
    LessonWishes,
    Progress,
    ProgressStep,
    ReadPhrase,
    RouteRequest,
    Written,
    demo_request,
    demo_source,
    make_lesson_folder,
    silent,
)
from reedpath.lesson import Lesson
from reedpath.wording import Catalogue, harp_words, position_words

__all__ = ["make_demo", "make_from", "progress_display"]


@contextmanager
def progress_display(catalogue: Catalogue) -> Iterator[Progress]:
    """A bar on the terminal that names the step at work; nothing where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(bar_width=24), TextColumn("{task.completed}/{task.total}"), TextColumn("{task.description}"))
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1)

        def show(step: ProgressStep) -> None:
            values: dict[str, str | float] = {"rung": step.detail} if step.detail else {}
            text = catalogue.say(f"progress.{step.name}", variant=0, **values)
            bar.update(task, completed=step.done, total=step.total, description=text)

        yield show


def _tell(lesson: Lesson, written: Written, out: Path, catalogue: Catalogue) -> None:
    route = lesson.route
    place = "" if route.position is None else ", " + position_words(route.position, catalogue)
    harp = harp_words(route.harp, catalogue)
    print_line(catalogue.say("route.title", title=lesson.title, harp=harp) + place)
    print_written(out, written, catalogue)
    print_left_out(route.phrase.left_out, catalogue)


def make_from(
    read: ReadPhrase,
    request: RouteRequest,
    wishes: LessonWishes,
    out: Path,
    *,
    replace: bool,
    json: bool,
    language: str | None = None,
) -> None:
    """Make a lesson from a phrase that was read; what is told of it is in the language given, else the system's."""
    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        made = make_lesson_folder(read, request, wishes, out, replace=replace, progress=progress)
    if json:
        route = made.lesson.route
        left_out = as_plain(route.phrase.left_out)
        print_data(
            written_as_data(out, made.written)
            | {"harp": route.harp.name, "position": route.position, "left_out": left_out}
        )
    else:
        _tell(made.lesson, made.written, out, catalogue)


def make_demo(out: Path, *, replace: bool) -> None:
    """Make the demo's lesson."""
    make_from(demo_source(), demo_request(), LessonWishes(), out, replace=replace, json=False)
