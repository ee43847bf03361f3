"""What becomes of what was read: the jobs that follow, over a short piece of it. What a reader lets in, they take.

An error of ours is an answer, but from a few calls on none is left: what a survey ranks is arranged, what was
arranged becomes a lesson, and a lesson or phrase comes back from its own file. `Disagreement` says that one did not.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Pin, Player, Route, find_route, with_moves
from reedpath.errors import ReedpathError
from reedpath.harp import (
    Harp,
    Notation,
    Temperament,
    Tuning,
    format_move,
    harp_as_data,
    harp_chart,
    make_harp,
    parse_move,
    positions,
    single_moves,
)
from reedpath.jobs import HarpChoice, RouteRequest, SourceChoice, survey_phrase
from reedpath.jobs.lesson_plans import LessonPlan
from reedpath.jobs.sources import read_source
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    decode_lesson,
    decode_lesson_of_pieces,
    encode_lesson,
    encode_lesson_of_pieces,
    format_steps,
    format_steps_of_pieces,
    make_lesson,
    remade_lesson,
)
from reedpath.lesson.steps_reading import ReadSteps
from reedpath.page import (
    encode_handout,
    encode_musicxml,
    engrave_score,
    format_left_out,
    format_ribbon_svg,
    format_route_chart_svg,
    format_tab,
    format_tab_of_pieces,
)
from reedpath.page.tabtext.reading import ReadTab
from reedpath.phrase import Event, Phrase, bars, decode_phrase, encode_phrase, performed, section
from reedpath.pitch import Key
from reedpath.sound import encode_midi, lay_out
from reedpath.wording import Catalogue, load_catalogue

# events of the short piece; a survey of it takes some hundredths of a second
SHORT = 8
OWNED = (("C",), ("A", "Low F"), ("High G",), ())


class Disagreement(AssertionError):
    """Two parts of the program that judge one value differently."""


@contextmanager
def agreed(what: str) -> Iterator[None]:
    """Nothing may be refused here any more."""
    try:
        yield
    except ReedpathError as error:
        raise Disagreement(f"{what}: {error}") from error


def short_of(phrase: Phrase) -> Phrase:
    """The first events of a performed phrase."""
    return replace(phrase, events=phrase.events[:SHORT], parts=(), repeats=())


def lesson_of(route: Route, draw: random.Random) -> None:
    """A lesson of a route, written and read, and its pages but the slow ones."""
    with agreed("a route is taught"):
        lesson = make_lesson(route)
    read_lesson_again(lesson, draw)


def read_lesson_again(lesson: Lesson, draw: random.Random) -> None:
    """A lesson comes back from its file, and everything made from it can be made."""
    with agreed("a lesson comes back"):
        written = decode_lesson(encode_lesson(lesson))
        if written.route.phrase != lesson.route.phrase:
            raise Disagreement("another phrase comes back")
        if decode_lesson(encode_lesson(written)) != written:
            raise Disagreement("another lesson comes back")
    catalogue = load_catalogue(lesson.languages[0])
    for rung in lesson.ladder:
        lay_out(lesson, rung)
    format_tab(lesson, catalogue=catalogue)
    format_left_out(lesson, catalogue=catalogue)
    format_steps(lesson)
    if draw.random() < 0.2:
        format_ribbon_svg(lesson.route, catalogue=catalogue)
        format_route_chart_svg(lesson.route, catalogue=catalogue)
        encode_midi(lesson)
        score = encode_musicxml(lesson, catalogue=catalogue)
        if draw.random() < 0.2:
            engrave_score(score)
            encode_handout(lesson, catalogue=catalogue)


def arranged(phrase: Phrase, draw: random.Random) -> None:
    """A survey of a short piece, the route of each line of it, and a lesson of the first."""
    short = short_of(performed(phrase))
    request = RouteRequest(HarpChoice(), owned=draw.choice(OWNED), any_key=draw.random() < 0.1)
    with agreed("a phrase is surveyed"):
        found = survey_phrase(short, request, top=3)
    with agreed("what is ranked is arranged"):
        routes = [line.route() for line in found.ranked]
    if routes:
        lesson_of(routes[0], draw)


def phrase_taken(phrase: Phrase, draw: random.Random) -> None:
    """All that follows on a phrase as it was read."""
    with agreed("a phrase comes back"):
        if decode_phrase(encode_phrase(phrase)) != phrase:
            raise Disagreement("another phrase comes back")
    played = performed(phrase)
    bars(played)
    first = draw.randint(1, 4)
    with suppress(ReedpathError):
        section(phrase, first, first + draw.randint(0, 3))
    arranged(phrase, draw)


def source_taken(data: bytes, name: str, draw: random.Random) -> None:
    """A source as a command reads it: bars and key chosen, voices sorted."""
    choice = SourceChoice(
        format=draw.choice((None, name)),
        bars=draw.choice((None, None, (1, 2), (1, 1))),
        lead=draw.random() < 0.2,
        bpm=draw.choice((None, None, 90.0)),
        key=draw.choice((None, None, Key(4))),
    )
    phrase_taken(read_source(data, name=f"source.{name}", choice=choice).phrase, draw)


TUNE = Phrase(
    tuple(Event(Fraction(index), Fraction(1), (midi,)) for index, midi in enumerate((60, 64, 67, 70, 72, 79, 85))),
    key=Key(0),
)


def harp_taken(harp: Harp, draw: random.Random) -> None:
    """A harp is shown, and a tune is arranged for it and taught."""
    harp_as_data(harp)
    harp_chart(harp)
    positions(harp)
    lesson_of(find_route(TUNE, harp), draw)


def tuning_taken(tuning: Tuning, draw: random.Random) -> None:
    for key in ("C", "Low F", "High G"):
        harp_taken(make_harp(key, tuning), draw)


def temperament_taken(temperament: Temperament, draw: random.Random) -> None:
    harp_taken(make_harp("A", temperament=temperament, stretch_cents=2.0), draw)


def player_taken(player: Player, draw: random.Random) -> None:
    lesson_of(find_route(TUNE, make_harp("C"), player=player), draw)


def notation_taken(notation: Notation, _draw: random.Random) -> None:
    for move in single_moves(make_harp("C").tuning):
        written = format_move(move, notation)
        try:
            parse_move(written, notation)
        except ReedpathError:
            continue


def language_taken(catalogue: Catalogue, draw: random.Random) -> None:
    from fuzzing.seeds import lesson

    format_tab(lesson(), catalogue=catalogue)
    format_left_out(lesson(), catalogue=catalogue)


def edited_tab_taken(read: ReadTab, draw: random.Random) -> None:
    """The lesson again, with the moves of a tab that was edited."""
    from fuzzing.seeds import lesson

    if read.moves:
        made = remade_lesson(lesson(), with_moves(lesson().route, read.moves))
        pins = tuple(Pin(index, move) for index, move in read.moves.items())
        read_lesson_again(replace(made, pins=pins), draw)


def edited_steps_taken(read: ReadSteps, draw: random.Random) -> None:
    """The lesson again, with the words of steps that were edited."""
    from fuzzing.seeds import lesson

    read_lesson_again(replace(lesson(), title=read.title, own_words=read.own_words), draw)


def read_pieces_again(lesson: LessonOfPieces, draw: random.Random) -> None:
    """A lesson of several pieces comes back from its files, and its steps and tab can be written."""
    folders = {piece.folder: decode_lesson(encode_lesson(piece.lesson)) for piece in lesson.pieces}
    with agreed("a lesson of several pieces comes back"):
        written = decode_lesson_of_pieces(encode_lesson_of_pieces(lesson), folders.__getitem__)
        if written.own_words != lesson.own_words or written.notes != lesson.notes:
            raise Disagreement("other words come back")
        if encode_lesson_of_pieces(written) != encode_lesson_of_pieces(lesson):
            raise Disagreement("another lesson comes back")
    format_steps_of_pieces(lesson)
    format_tab_of_pieces(lesson, catalogue=load_catalogue(draw.choice(lesson.languages)))


def plan_taken(plan: LessonPlan, _draw: random.Random) -> None:
    """Variants of a plan are of pieces before."""
    with agreed("variants are of pieces before"):
        for index, variant in enumerate(plan.variants):
            if variant is not None and not 0 <= variant[0] < index:
                raise Disagreement("a variant of a piece after it")
