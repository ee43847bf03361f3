"""The commands of the shelf: their arguments, their help, and where each is carried out, with what was said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from reedpath.cli import options as o
from reedpath.cli.grouping import OneCommand
from reedpath.cli.options import option

SHELF = option("--shelf", "path", metavar="FILE", type=Path, help="The shelf; else your own, in your folder.")
TAGS = option(
    "--tag", "tags", metavar="WORD", multiple=True, help="Your own word for it. May be given several times."
)
NUMBER = click.argument("number", metavar="NUMBER", type=o.WholeNumber(), help="Its number, as find tells it.")
STUDENT = option(
    "--student", metavar="NAME", help="Only this student: harps, takes, answers, and the lessons played."
)

_group = click.Group("shelf")
_group.command_class = OneCommand


@_group.command("add")
@click.argument(
    "paths", metavar="FILE...", nargs=-1, required=True, type=o.FilePath(),
    help="Sources, lesson folders, or folders that hold them.",
)  # fmt: skip
@TAGS
@option("--level", title=o.PLAYER, help="The level that difficulty is told for; else the usual one.")
@option("--quick", is_flag=True, help="Look for no route: difficulty and techniques of sources stay unknown.")
@option("--files", is_flag=True, help="Keep the sounds, films and sheets of lessons too.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def add(**said: Any) -> None:
    """Put phrases and lessons on the shelf.

    A lesson of a title that is there already becomes a new version of it. Of a book of ABC every tune is taken.

    \b
    reedpath shelf add solo.txt tune.abc --tag blues --tag slow
    reedpath shelf add lessons --files
    """
    from reedpath.cli.shelves import add_files

    add_files(**said)


@_group.command("list")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def list_all(**said: Any) -> None:
    """Say what is on the shelf: lessons, phrases, students.

    \b
    reedpath shelf list
    reedpath shelf list --shelf shelf.sqlite --json
    """
    from reedpath.cli.shelves import show_all

    show_all(**said)


@_group.command("find")
@click.argument("words", metavar="[WORD]...", nargs=-1, help="In title, key, tags or techniques.")
@TAGS
@option("--technique", "techniques", metavar="NAME", multiple=True, help="draw_bends, overblows, splits, chords ...")
@option("--key", type=o.KeyNames(), help="The phrase's key: E, Am.")
@option("--easiest", metavar="POINTS", type=float, help="Points of effort a note, at least.")
@option("--hardest", metavar="POINTS", type=float, help="Points of effort a note, at most.")
@option(
    "--tune",
    metavar="NOTES",
    type=o.KeyNames(is_told=False),
    help="A few of its notes, in any key: 'E G A Bb', or with octaves: 'E4 G4 B4'.",
)
@option(
    "--tune-from", metavar="FILE", type=Path, help="A tune like this one: a source, or a recording of a few notes."
)
@option("--top", type=int, default=0, help="How many at most; 0 for all, with --tune for the ten nearest.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def find(**said: Any) -> None:
    """Find phrases by words, tag, technique, key, difficulty, and by tune.

    \b
    reedpath shelf find steps
    reedpath shelf find --tag blues --technique draw_bends --hardest 3
    reedpath shelf find --tune "E G A Bb A G E" --top 3
    reedpath shelf find --tune-from take.wav
    """
    from reedpath.cli.shelves import find_phrases

    find_phrases(**said)


@_group.command("words")
@NUMBER
@option("--title", metavar="TEXT", help="What it is called from now on.")
@TAGS
@option("--not-tag", "not_tags", metavar="WORD", multiple=True, help="A word to take off it.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def words_of(**said: Any) -> None:
    """Give a phrase another title or other tags.

    \b
    reedpath shelf words 1 --title "Up the stairs" --tag warm-up --not-tag blues
    """
    from reedpath.cli.shelves import change_words

    change_words(**said)


@_group.command("get")
@NUMBER
@option(
    "--out", metavar="FILE", type=Path, required=True, help="Where the phrase goes: .json, read by every command."
)
@o.REPLACE_FILES
@SHELF
@o.LANGUAGE
def get(**said: Any) -> None:
    """Write a phrase of the shelf into a file.

    \b
    reedpath shelf get 1 --out stairs.json
    """
    from reedpath.cli.shelves import get_phrase

    get_phrase(**said)


@_group.command("lesson")
@click.argument("title", metavar="TITLE", help="The lesson's title on the shelf.")
@option("--out", metavar="DIR", type=Path, required=True, help="The folder that is made; nothing may be there yet.")
@option("--version", metavar="NUMBER", type=o.WholeNumber(), help="One of its versions; else the last.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def lesson(**said: Any) -> None:
    """Write a lesson of the shelf out as a folder, with the files that are kept of it.

    \b
    reedpath shelf lesson "Three Steps" --out lessons/three-steps
    reedpath shelf lesson "Three Steps" --version 1 --out lessons/as-it-was
    """
    from reedpath.cli.shelves import write_lesson_folder

    write_lesson_folder(**said)


@_group.command("remove")
@NUMBER
@SHELF
@o.LANGUAGE
def remove(**said: Any) -> None:
    """Take a phrase off the shelf.

    \b
    reedpath shelf remove 1
    """
    from reedpath.cli.shelves import remove_phrase

    remove_phrase(**said)


@_group.command("compare")
@click.argument("title", metavar="TITLE", help="Title of a lesson on the shelf.")
@option("--before", metavar="VERSION", type=int, help="The earlier version; else the last but one.")
@option("--after", metavar="VERSION", type=int, help="The later version; else the last.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def compare(**said: Any) -> None:
    """Lay two versions of a lesson side by side: what differs.

    \b
    reedpath shelf compare "Three Steps" --before 1 --after 1
    """
    from reedpath.cli.shelves import show_differences

    show_differences(**said)


@_group.command("student")
@click.argument("name", metavar="NAME", help="The student's name.")
@option("--level", help="first-months, easy, steady, strong or advanced.")
@option("--owned", metavar="KEYS", type=o.KeyNames(), help="Harps that the student has: A,C,D,'Low F'.")
@option("--technique", "techniques", metavar="NAME", multiple=True, help="A technique that the student has.")
@option("--note", metavar="TEXT", help="A note of your own.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def student(**said: Any) -> None:
    """Put a student on the shelf, or say more of one who is there.

    \b
    reedpath shelf student "Ada (invented)" --level easy --owned "A, C" --technique draw_bends
    """
    from reedpath.cli.shelves import say_student

    say_student(**said)


@_group.command("harps")
@option("--owned", metavar="KEYS", type=o.KeyNames(), help="The harps that you have, all of them: A,C,D,'Low F'.")
@option("--tuning", default="standard", help="Their tuning; harps of other tunings stay as they are.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def harps(**said: Any) -> None:
    """Say which harps you have yourself, or show which were said.

    \b
    reedpath shelf harps --owned "A, C, D, Low F"
    reedpath shelf harps
    """
    from reedpath.cli.shelves import say_harps

    say_harps(**said)


@_group.command("take")
@o.RECORDING
@option("--student", metavar="NAME", required=True, help="Who plays.")
@option("--lesson", metavar="TITLE", help="The lesson that is played, by its title on the shelf.")
@option("--answer", metavar="FILE", type=Path, help="Its answer.json, or the folder that it is in.")
@option("--note", metavar="TEXT", help="A note of your own.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def take(**said: Any) -> None:
    """Keep a student's take, with its answer.

    \b
    reedpath shelf take take.wav --student "Bo (invented)"
    """
    from reedpath.cli.shelves import keep_take

    keep_take(**said)


@_group.command("takes")
@click.argument(
    "recordings", metavar="FILE...", nargs=-1, required=True, type=o.FilePath(), help="Recordings of students."
)
@option("--student", metavar="NAME", help="Who plays them all; else the name of each file says it.")
@option("--lesson", metavar="TITLE", help="The lesson that is played in all; else it is told by what is heard.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def takes(**said: Any) -> None:
    """Answer takes by the dozen, and keep them: whose each is and what it plays is found, or asked.

    \b
    reedpath shelf takes take.wav --student "Bo (invented)"
    """
    from reedpath.cli.students import take_in

    take_in(**said)


@_group.command("progress")
@click.argument("name", metavar="NAME", help="The student's name.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def progress(**said: Any) -> None:
    """Say where a student stands: what is sure, how sure that is, and what to practise today.

    \b
    reedpath shelf progress "Bo (invented)"
    """
    from reedpath.cli.students import show_progress

    show_progress(**said)


@_group.command("next")
@click.argument("name", metavar="NAME", help="The student's name.")
@option("--top", type=int, default=3, help="How many at most.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def next_for(**said: Any) -> None:
    """Find the phrases of the shelf that are one small step harder for a student.

    \b
    reedpath shelf next "Bo (invented)"
    """
    from reedpath.cli.students import show_next

    show_next(**said)


@_group.command("letter")
@click.argument("name", metavar="NAME", help="The student's name.")
@option("--anew", is_flag=True, help="Propose another one, even if there is one since the last take.")
@option("--text", metavar="FILE", type=Path, help="Your own text of the last letter, which is kept as you wrote it.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def letter(**said: Any) -> None:
    """Propose a letter to a student about the last take, or keep what you made of it. Nothing is sent.

    \b
    reedpath shelf letter "Bo (invented)"
    """
    from reedpath.cli.students import show_letter

    show_letter(**said)


@_group.command("undo")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def undo(**said: Any) -> None:
    """Undo the last change; said again, the one before it.

    \b
    reedpath shelf undo
    """
    from reedpath.cli.shelves import undo_last

    undo_last(redo=False, **said)


@_group.command("redo")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def redo(**said: Any) -> None:
    """Do again what was undone last.

    \b
    reedpath shelf redo
    """
    from reedpath.cli.shelves import undo_last

    undo_last(redo=True, **said)


@_group.command("check")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def check(**said: Any) -> None:
    """Check that everything on the shelf is intact, and clear away files that nothing uses any more.

    \b
    reedpath shelf check
    """
    from reedpath.cli.shelves import check_all

    check_all(**said)


@_group.command("export")
@click.argument("zip_path", metavar="ZIP", type=o.FilePath(), help="Where it goes.")
@STUDENT
@o.REPLACE_FILES
@SHELF
@o.LANGUAGE
@o.AS_JSON
def export(**said: Any) -> None:
    """Write everything, or one student's data, into a zip of open formats.

    \b
    reedpath shelf export everything.zip
    reedpath shelf export bo.zip --student "Bo (invented)"
    """
    from reedpath.cli.shelves import export_all

    export_all(**said)


@_group.command("import")
@click.argument("zip_path", metavar="ZIP", type=o.FilePath(), help="A zip that export has made.")
@SHELF
@o.LANGUAGE
@o.AS_JSON
def import_(**said: Any) -> None:
    """Bring in what a zip holds; what is on the shelf already stays as it is there.

    \b
    reedpath shelf import kept.zip --shelf new.sqlite
    """
    from reedpath.cli.shelves import import_all

    import_all(**said)


@_group.command("erase")
@click.argument("name", metavar="NAME", help="The student's name.")
@SHELF
@o.LANGUAGE
def erase(**said: Any) -> None:
    """Erase a student with harps, takes and answers, for good: this can't be undone.

    \b
    reedpath shelf erase "Bo (invented)"
    """
    from reedpath.cli.shelves import erase_all

    erase_all(**said)


# the commands by their names, in the order in which a shelf comes about
COMMANDS = _group.commands
