"""Lessons of several pieces, typed by hand; the phrases are invented for these tests."""

from __future__ import annotations

from reedpath.arrange import Change, ChangeKind
from reedpath.data import replace
from reedpath.lesson import Lesson, LessonOfPieces, Piece, VariantKind, make_lesson
from reedpath.phrase import Phrase
from reedpath.pitch import Key
from support.built_routes import built_route
from support.routes import COMMON_TIME, choose, route_of

NOTE = {"en": "Easy first, then on.", "fr": "D'abord facile, ensuite on continue."}


def piece_lesson(tokens: str, title: str, *, key: str = "C", level: str = "steady", **fields: object) -> Lesson:
    """A lesson of a route typed in tokens (see `support.built_routes`)."""
    given: dict[str, object] = {"metres": COMMON_TIME, "music_key": Key(7)}
    route = built_route(tokens, key=key, **(given | fields))  # type: ignore[arg-type]
    return make_lesson(replace(route, level=level), title=title)


def porch() -> Lesson:
    """Four bars with bends."""
    return piece_lesson(
        "2d:1 3d':1 4b:1 4d:1 4d:1 4b:1 3d':1 2d:1 1d:1 2d:1 3d':1 2d:1 4b:1 3d':1 2d:2", "Porch steps"
    )


def porch_easy() -> Lesson:
    """The same without bends: other notes in their places."""
    made = piece_lesson(
        "2d:1 3d:1 4b:1 4d:1 4d:1 4b:1 3d:1 2d:1 1d:1 2d:1 3d:1 3b:1 4b:1 3d:1 2d:2", "Porch steps", level="easy"
    )
    changed = choose(made.route, 1, changes=(Change(ChangeKind.HARMONY, (70,), (71,), 0.5),))
    return replace(made, route=changed)


def porch_other_holes() -> Lesson:
    """The same notes, one of them in another hole."""
    tokens = "3b:1 3d':1 4b:1 4d:1 4d:1 4b:1 3d':1 3b:1 1d:1 2d:1 3d':1 2d:1 4b:1 3d':1 2d:2"
    return piece_lesson(tokens, "Porch steps", level="easy")


def answer() -> Lesson:
    """Two bars to take turns with."""
    return piece_lesson("3d':1 2d:1 1d:1 2d:1 2d:2 r:2", "Answer")


def doors() -> Lesson:
    """Octaves by the tongue, on another harp."""
    return piece_lesson("[1 4]b:1 [2 5]b:1 6b:1 5b:1 4d:2 4b:2", "Two doors", key="D", bpm=84.0)


def sixth() -> Lesson:
    """An overblow after 2 draw."""
    return piece_lesson("1d:1 2d:1 6bo:2 6d:1 6b:1 4d:2", "Over the sixth", level="advanced", bpm=72.0)


def nothing() -> Lesson:
    """A piece in which there is nothing to play."""
    return make_lesson(route_of(Phrase(())), title="Nothing")


def lesson_of_pieces(**fields: object) -> LessonOfPieces:
    """Three pieces, of which the first is there at two levels and has a filler."""
    pieces = (
        Piece("1-porch-steps", porch()),
        Piece("2-porch-steps-easy", porch_easy(), 0, VariantKind.LEVEL),
        Piece("3-answer", answer(), 0, VariantKind.FILLER),
        Piece("4-two-doors", doors()),
        Piece("5-over-the-sixth", sixth()),
    )
    made = LessonOfPieces(
        "Three corners", pieces, (0, 3, 4), author="A. Teacher (invented)", date="27 November 2026", notes=NOTE
    )
    return replace(made, **fields)
