"""What is taught of many phrases, to the letter: parts, ladder, drills, techniques and every sentence.

Each is compared whole with a file of `kept`; see `support.kept_texts`. The phrases are those of ``examples`` and
others in which every sign stands, each told in two of the languages.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from reedpath.arrange import Route, find_route, with_moves
from reedpath.data import replace
from reedpath.errors import ReedpathError
from reedpath.harp import make_harp, parse_move
from reedpath.jobs import read_source_file
from reedpath.lesson import (
    DrillWish,
    Lesson,
    LineEdit,
    OwnWords,
    decode_lesson,
    decode_lesson_of_pieces,
    decode_steps,
    drill_route,
    edited_whole,
    edited_words,
    encode_lesson,
    encode_lesson_of_pieces,
    format_steps,
    format_steps_of_pieces,
    holding_words,
    in_order,
    lines_said,
    lines_said_of_whole,
    make_lesson,
    needs_of,
    program_steps,
    read_steps,
    remade_lesson,
    techniques_of,
    with_drills,
    with_note,
    with_part_names,
    with_tempos,
)
from reedpath.phrase import Metre, Tempo
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.drawn_routes import alphabet_route, graces_route, metres_route, opening_route, titled
from support.kept_texts import assert_kept
from support.pieces import doors, lesson_of_pieces, porch, sixth

KEPT = Path(__file__).parent / "kept"
EXAMPLES = Path(__file__).parents[2] / "examples"
LANGUAGES = ("en", "fr", "de", "es", "it")
# the harps on which the examples are played here
HARPS = {
    "boxcar-in-a": "D",
    "orchard-gate": "G",
    "shuffle-in-e": "A",
    "slow-walk-in-a-minor": "G",
    "two-questions": "A",
}
RUN = "2d 3d' 4b 4d 5d 4d 4b 3d' 2d:1 r:1 "


def changing_route() -> Route:
    """A tempo that slows down little by little, one that jumps, a bar of another length, swing, a figure moved."""
    tempos = [Tempo(Fraction(at), bpm) for at, bpm in ((0, 90.0), (4, 84.0), (5, 78.0), (6, 70.0), (12, 130.0))]
    metres = [Metre(Fraction(0), 4, 4), Metre(Fraction(8), 3, 4), Metre(Fraction(11), 4, 4)]
    route = built_route(RUN * 3, key="A", tempos=tempos, metres=metres, swing=Fraction(2))
    return titled(route, "Changing (invented)", [("A", 0, 6), ("B", 6, 12), ("A", 12, 18)])


def routes() -> dict[str, Route]:
    found = {
        name: find_route(read_source_file(next(EXAMPLES.glob(f"{name}.*"))).phrase, make_harp(key))
        for name, key in HARPS.items()
    }
    drawn = {
        "alphabet": alphabet_route(),
        "graces": graces_route(),
        "metres": metres_route(),
        "opening": opening_route(),
    }
    return (
        found | drawn | {"changing": changing_route(), "again": titled(built_route(RUN * 2 + "1d 1b " * 6), "Again")}
    )


@pytest.fixture(scope="module")
def lessons() -> dict[str, Lesson]:
    return {name: make_lesson(route, title=name) for name, route in routes().items()}


def rungs(ladder: Iterable[Any]) -> str:
    return ", ".join(f"{one.name} {one.factor:.4f} {one.bpm:g}" for one in ladder)


@pytest.mark.slow
def test_what_is_taught_of_each_phrase(lessons: dict[str, Lesson]) -> None:
    told = []
    for at, (name, lesson) in enumerate(lessons.items()):
        told += [f"# {name}", f"ladder: {rungs(lesson.ladder)}"]
        for part in lesson.parts:
            told.append(f"part {part.label} {part.first}-{part.last} {part.same_as}")
        for drill in lesson.drills:
            spot = drill.spot
            drilled = drill_route(lesson.route, spot).phrase
            told.append(
                f"drill {spot.first}-{spot.last} {spot.effort:.3f} {spot.reasons} {drill.times} {rungs(drill.ladder)}"
            )
            told.append(f"  {[str(one.onset) for one in drilled.events]} {drilled.tempos[0].bpm} {drilled.end}")
        for one in techniques_of(lesson.route):
            told.append(f"technique {one}")
        told += format_steps(lesson, [LANGUAGES[at % 5], LANGUAGES[(at + 2) % 5]]).splitlines()
    needs = needs_of([*lessons.values(), lesson_of_pieces(), porch(), sixth(), doors()])
    told += [f"# needs {needs!r}"]
    assert_kept(KEPT / "lessons.txt", "\n".join(told) + "\n")


def test_what_is_said_of_several_pieces() -> None:
    whole, told = lesson_of_pieces(), []
    told += format_steps_of_pieces(whole).splitlines()
    for language in ("de", "es"):
        pieces = tuple(
            replace(one, lesson=replace(one.lesson, languages=(language,))) for one in reversed(whole.pieces[:1])
        )
        other = replace(
            whole,
            pieces=(
                *pieces,
                *(replace(one, lesson=replace(one.lesson, languages=(language,))) for one in whole.pieces[3:]),
            ),
            play_through=(0, 2, 1),
        )
        told += format_steps_of_pieces(other).splitlines()
    told += format_steps_of_pieces(in_order(whole, (3, 0, 1, 2, 4))).splitlines()
    for order in ((1, 0, 1), (0, 9), (), (-1,), (1, 0, 2, 3, 4)):
        told.append(refused(lambda order=order: in_order(whole, order)))
    assert_kept(KEPT / "pieces.txt", "\n".join(told) + "\n")


def refused(do: Any) -> str:
    """Why something is refused."""
    try:
        return f"gave {type(do()).__name__}"
    except ReedpathError as error:
        return f"refused: {error}"


def hers(words: Iterable[OwnWords]) -> list[str]:
    return [f"  {one.language} {one.kind} {one.place} | {one.text} | {one.instead} | {one.moves}" for one in words]


@pytest.mark.slow
def test_her_own_words_line_by_line() -> None:
    lesson = make_lesson(opening_route(), title="Porch *light*", languages=["en", "fr"])
    told = [f"{line.kind} {line.first}-{line.last} {line.text} | {line.program}" for line in lines_said(lesson, "en")]
    decoded = decode_steps(encode_lesson(lesson))
    text = format_steps(lesson).splitlines(keepends=True)
    for at in range(0, len(text), 2):
        if not text[at].strip():
            continue
        mark = text[at][: len(text[at]) - len(text[at].lstrip("#- "))]
        for changed in (f"{mark}Mine, {at}.\n", "", f"{text[at]}\nA note, {at}.\n"):
            said = "".join([*text[:at], changed, *text[at + 1 :]])

            def read(said: str = said) -> list[str]:
                found = read_steps(said, lesson, decoded)
                return [f"  {found.title}", *hers(found.own_words)]

            told.append(f"# line {at}: {changed.strip()!r}")
            try:
                told += read()
            except ReedpathError as error:
                told.append(f"  refused: {error}")
    for language in ("en", "fr"):
        for index, line in enumerate(lines_said(lesson, language)):
            for edit in (
                LineEdit(index, line.text, f"Mine, {index}."),
                LineEdit(index, line.text, "A note.", after=True),
            ):
                told += [f"# {edit}", *hers(edited_words(lesson, language, edit).own_words)]
            told.append(
                refused(
                    lambda index=index, language=language: edited_words(
                        lesson, language, LineEdit(index, "other", "x")
                    )
                )
            )
    edit = LineEdit(3, lines_said(lesson, "en")[3].text, "Mine.")
    own = edited_words(lesson, "en", edit)
    moved = remade_lesson(own, with_moves(own.route, {1: parse_move("3")}))
    noted = edited_words(own, "en", LineEdit(5, lines_said(own, "en")[5].text, "A note.", after=True))
    told += [repr(line) for line in lines_said(noted, "en")]
    told += format_steps(noted, [load_catalogue("fr")]).splitlines()[:6]
    for one in (own, moved):
        told += [f"# {one.route.events[1].choice.move}", *format_steps(one).splitlines()]
        told += hers(holding_words(one, "en", program_steps(one, load_catalogue("en"))))
    assert_kept(KEPT / "own-words.txt", "\n".join(told) + "\n")


@pytest.mark.slow
def test_her_own_words_of_the_whole_line_by_line() -> None:
    whole, told = lesson_of_pieces(), []
    for index, line in enumerate(lines_said_of_whole(whole, "en")):
        told.append(f"{line.kind} {line.piece} {line.first}-{line.last} {line.text} | {line.program}")
        for edit in (
            LineEdit(index, line.text, f"Mine, {index}."),
            LineEdit(index, line.text, "A note.", after=True),
        ):
            edited = edited_whole(whole, "en", edit)
            told += [f"  {one}" for one in edited.own_words]
            pieces = {one.folder: one.lesson for one in edited.pieces}
            files = {folder: encode_lesson(one) for folder, one in pieces.items()}
            again = decode_lesson_of_pieces(
                encode_lesson_of_pieces(edited), lambda folder, files=files: decode_lesson(files[folder])
            )
            assert again.own_words == edited.own_words
    assert_kept(KEPT / "own-words-of-the-whole.txt", "\n".join(told) + "\n")


def test_what_she_chooses_and_what_is_refused(lessons: dict[str, Lesson]) -> None:
    lesson, told = porch(), []
    for tempos in (None, (), (50.0,), (50.0, 65.0), (50.0, 50.0), (0.0,), (10.0, 20.0, 30.0, 40.0, 50.0), (500.0,)):
        told.append(f"# tempos {tempos} {refused(lambda tempos=tempos: with_tempos(lesson, tempos))}")
        if not told[-1].rpartition(" ")[2].endswith("refused") and "refused" not in told[-1]:
            told.append(rungs(with_tempos(lesson, tempos).ladder))
    for wish in (
        DrillWish(0, 1),
        DrillWish(3, 6, 4, (40.0, 60.0)),
        DrillWish(3, 2),
        DrillWish(0, 99),
        DrillWish(-1, 2),
        DrillWish(0, 1, 0),
        DrillWish(0, 1, 99),
    ):
        told.append(f"# drill {wish} {refused(lambda wish=wish: with_drills(lesson, (wish,)))}")
        if "refused" not in told[-1]:
            drill = with_drills(lesson, (wish,)).drills[0]
            told.append(f"{drill.spot} {drill.times} {rungs(drill.ladder)}")
    for note in ((("en", "Listen."),), (("fr", "On écoute."), ("en", "")), (("xx", "Nothing."),)):
        told.append(f"# note {note} {refused(lambda note=note: with_note(lesson, note))}")
        if "refused" not in told[-1]:
            told += hers(with_note(lesson, note).own_words)
    named: tuple[dict[str, dict[str, str]], ...] = (
        {"en": {"A": "The question"}},
        {"fr": {"A": "La question"}, "en": {"B": "Two"}},
        {"en": {"Z": "x"}},
        {"en": {"A": ""}},
    )
    for names in named:
        told.append(f"# names {names} {refused(lambda names=names: with_part_names(lesson, names))}")
        if "refused" not in told[-1]:
            told.append(str(with_part_names(lesson, names).part_names))
    assert_kept(KEPT / "choices.txt", "\n".join(told) + "\n")
