"""Ten lessons of different kinds, and all that they say in a language; each is built once for all tests that read it.

All phrases are invented for these tests.
"""

from __future__ import annotations

from functools import cache

import reedpath
from reedpath.arrange import Change, ChangeKind, Route
from reedpath.data import replace
from reedpath.harp import load_tuning, make_harp
from reedpath.lesson import Lesson, LessonOfPieces, make_lesson, steps_of, whole_steps
from reedpath.page.handout.rows import change_rows
from reedpath.page.score.sheet import sheet_of
from reedpath.phrase import Metre, Tempo
from reedpath.pitch import Key
from reedpath.wording import left_out_blocks, load_catalogue
from support.built_routes import built_route
from support.pieces import lesson_of_pieces
from support.routes import COMMON_TIME, choose

__all__ = ["TEN", "said_in", "ten_lessons"]

_ABC = "X:1\nT:{title}\nM:{metre}\nL:1/16\nQ:1/4={bpm}\nK:{key}\n{notes}\n"
_LICK = "e2e2 d2_e2 e4 d2B2 | G2^F2 G2A2 B4 G4 | e2e2 d2_e2 e4 d2B2 | A2B2 d2B2 !accent!G8 |"
_FAST = "GABd edBd edBA GBAG | GABd edBd g4 d4 | _BABd fdBA GFGA B4 | G16 |"
_TRILLS = "{a}g4 e2d2 (3Bcd e4 z4 | !trill!g4 a2b2 [gb]4 z4 | {^f}g4 e2d2 B8 | [DGB]8 G8 |"


def _found(title: str, notes: str, *, metre: str = "4/4", bpm: int = 96, key: str = "G", **wish: str) -> Route:
    source = _ABC.format(title=title, metre=metre, bpm=bpm, key=key, notes=notes).encode()
    return reedpath.find_route(reedpath.read(source), **wish)  # type: ignore[arg-type]


def _changed() -> Route:
    """A route with a change of every kind against its source."""
    route = built_route("4b 4d 5b 5d (1 2 3)d 6b 6d 4b [1 4]b 3d' 2d:2", music_key=Key(0), metres=COMMON_TIME)
    changes = [
        Change(ChangeKind.OCTAVE, (60,), (72,), 0.3), Change(ChangeKind.HARMONY, (75,), (74,), 0.5),
        Change(ChangeKind.SHALLOW, (75,), (76,), 0.2), Change(ChangeKind.STEPPED, (77,), (77,), 0.2),
        Change(ChangeKind.MISSING, (62, 67, 70, 71), (62, 67, 71), 0.4),
        Change(ChangeKind.STRAIGHT, (79,), (79,), 0.2), Change(ChangeKind.ADDED, (81,), (81, 84), 0.1),
        Change(ChangeKind.OCTAVE, (84,), (72,), 0.3),
    ]  # fmt: skip
    for index, change in enumerate(changes):
        route = choose(route, index, changes=(change,), breathe=index in (3, 6))
    silent = Change(ChangeKind.SILENT, (70,), (), 1.0)
    return choose(route, len(changes) + 1, move=None, changes=(silent,))


@cache
def ten_lessons() -> dict[str, Lesson | LessonOfPieces]:
    """The lessons by their kinds."""
    overbends = "4d:1 6bo:1 6b:1 5bo 5b 7do:1 6d:1 1b^1 4d'^1 4d_1 4d~ 3d''^2 3d'_1 2d''>2d".replace(">", " ")
    chords = "(1 2 3)d! (1 2 3)d! (4 5)b [1 4]b [2 5]d:1 [3 6]b~ (2 3)d (3 4 5)d [1 4]d 4b" + " r:1 2d 3d:2"
    triplets = "2d:1/3 3d':1/3 3d:1/3 4b:1/3 4d:1/3 4b:1/3 r:1 3d'':1/3 3d':1/3 3d:1/3 2d:1 1d:1/4g 1d:3/4 8b 10b'"
    metres = (Metre(COMMON_TIME[0].onset, 4, 4), Metre(COMMON_TIME[0].onset + 8, 3, 4))
    tempos = (Tempo(COMMON_TIME[0].onset, 90.0), Tempo(COMMON_TIME[0].onset + 8, 120.0))
    minor = make_harp("Low F", load_tuning("natural-minor-second"))
    routes = {
        "lick": _found("Two bars", _LICK, harp="C"),
        "fast": _found("Quick water", _FAST, bpm=132, harp="C"),
        "overbends": built_route(overbends, key="Bb", bpm=70.0, music_key=Key(9, "minor")),
        "chords": built_route(chords, metres=COMMON_TIME, music_key=Key(7)),
        "long": _found("Long road", "|".join((_LICK, _FAST, _LICK, _TRILLS, _FAST)).replace("||", "|"), harp="A"),
        "triplets": built_route(triplets, metres=metres, tempos=tempos, swing=COMMON_TIME[0].onset + 2, harp=minor),
        "left out": _found("Not all of it", _TRILLS, metre="4/4", level="easy"),
        "changed": _changed(),
        "one note": built_route("4d:4", bpm=60.0),
    }
    made: dict[str, Lesson | LessonOfPieces] = {
        name: make_lesson(route, title="" if name == "one note" else name.capitalize(), languages=("en",))
        for name, route in routes.items()
    }
    return {**made, "pieces": lesson_of_pieces()}


TEN = ("lick", "fast", "overbends", "chords", "long", "triplets", "left out", "changed", "one note", "pieces")


def _of_lesson(lesson: Lesson, language: str) -> list[str]:
    catalogue = load_catalogue(language)
    said = [
        text for block in steps_of(lesson, catalogue) for text in (block.title, *(one.text for one in block.steps))
    ]
    if lesson.route.events:
        said += change_rows(sheet_of(lesson), catalogue)
    blocks = left_out_blocks(lesson.route.phrase.left_out, catalogue)
    return said + [text for block in blocks for text in (block.title, *block.lines)]


@cache
def said_in(language: str) -> dict[str, list[str]]:
    """All that each of the ten lessons says in a language, in order, without what a person wrote."""
    said: dict[str, list[str]] = {}
    for name, lesson in ten_lessons().items():
        if isinstance(lesson, LessonOfPieces):
            plain = replace(lesson, notes={})
            said[name] = [line.text for block in whole_steps(plain, language) for line in block.lines]
            lessons = [piece.lesson for piece in lesson.pieces]
        else:
            said[name], lessons = [], [lesson]
        said[name] += [text for one in lessons for text in _of_lesson(one, language) if text]
    return said
