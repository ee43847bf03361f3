"""A folder of invented files, and stand-ins for the jobs that take long: they print what they are asked.

What a command passes to them, and what it says of what they give, can so be read in one text.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from reedpath import jobs, studio
from reedpath.arrange import Retuning, RetuningSurvey
from reedpath.arrange.retuning import ReedChange
from reedpath.cli import hearing, students, takes
from reedpath.data import encode_json, replace
from reedpath.errors import Place, ReadError
from reedpath.film import CutKind, CutPiece, CutWhy, FilmClock, FilmCut, encode_cut
from reedpath.harp import Breath, Move
from reedpath.hear import Beats, HeardNote
from reedpath.hear.lead.candidates import Whereabouts
from reedpath.hear.transcribe import Transcription
from reedpath.jobs import (
    Revised,
    StudentSaid,
    Written,
    add_take,
    add_to_shelf,
    find_lessons,
    incoming_takes,
    put_student,
)
from reedpath.jobs.answering import Answered, AnsweredTake, answered_file
from reedpath.jobs.hearing import TranscribedRecording
from reedpath.jobs.incoming_takes import FoundTake
from reedpath.jobs.making_lessons import MadeLesson
from reedpath.jobs.many_takes import TakesRun
from reedpath.jobs.revising import RevisedPiece
from reedpath.jobs.take_matching import LessonHeard
from reedpath.jobs.take_overview import OverviewMade, overview_of
from reedpath.lesson import (
    Lesson,
    OwnWords,
    StepPlace,
    WordsKind,
    encode_lesson,
    encode_lesson_of_pieces,
    make_lesson,
    phrases_taught,
)
from reedpath.listen import FaultKind, HarpHeard, PieceLinedUp
from reedpath.phrase import KeyGuess, LeftOut, Phrase
from reedpath.pitch import Key
from reedpath.shelf import Shelf, typed_melody
from reedpath.wording import Catalogue
from support.built_routes import built_route
from support.fixed_records import NOW, fix_records
from support.listened import built_answer, built_curve
from support.phrases import phrase_of
from support.pieces import lesson_of_pieces, porch, porch_other_holes, sixth
from support.shown_values import shown
from support.students import TUNES, tune_lesson

SOLO = """title: Three Steps (invented)
tempo: 96
key: E

   q    q    q    q
e|-------------------|
B|-------------------|
G|-9----------9------|
D|------9---------9--|
A|-------------------|
E|-------------------|
"""
BLUES = """title: Lane at dusk (invented)
harp: A
key: E
tempo: 88

-2 -3' 4 -4 | -4 4 -3' -2 | -1 -2 -3' -2 |
"""
TUNE = "".join(
    f"X:{number}\nT:Tune {number} (invented)\nM:4/4\nL:1/4\nQ:1/4=120\nK:{key}\n{notes}\n\n"
    for number, key, notes in (
        (1, "G", "G2 B d|~g2 f d|!trill!c2 A F|G4|"),
        (2, "D", "d f a f|e c A e|d4|"),
        (3, "C", "C ^C D ^D|E2 G2|z4|c4|"),
    )
)
PLAN = """title = "An evening (invented)"
author = "Ada (invented)"
note = ["Listen first.", "fr:On écoute d'abord."]
languages = "en,fr"
in-a-row = [2, 1]
paper = "letter"

[[piece]]
source = "solo.txt"
harp = "A"
technique = "A=octaves"
format = "fret-tab"
note = "Softly."
part-name = "A=The walk"

[[piece]]
source = "tune.abc"
choose = "tune=2"
bars = "1-2"
level = ["easy", "strong"]
key = "D"
tempo = 90

[[piece]]
source = "blues.txt"
title = "An answer"
filler-of = 2
pin = "3=-3'"
bars = 1
owned = ["A", "D"]
overblows = true
draw-bends = 2
"""
SAMPLES = ((0.5, 64, 12.34567), (1.0, 67, -8.7654321), (1.5, 69, 0.0))


def _answered(lesson: Lesson) -> AnsweredTake:
    return AnsweredTake(lesson, (_answered_piece(lesson),))


def _answered_piece(lesson: Lesson, piece: int = 0) -> Answered:
    """An answer to a take of it, with one note missed, one flat and one late."""
    answer = built_answer(
        lesson.route,
        {1: (FaultKind.FLAT, 35.0), 3: (FaultKind.MISSED, 1.0), 5: (FaultKind.LATE, 180.0)},
    )
    spot = make_lesson(lesson.route, title=f"{lesson.title} (1)")
    return Answered(answer, built_curve(answer), (spot,), piece)


def put_files(folder: Path) -> None:
    """Sources, a plan, lessons and a shelf, all invented."""
    (folder / "solo.txt").write_text(SOLO, encoding="utf-8")
    (folder / "blues.txt").write_text(BLUES, encoding="utf-8")
    (folder / "untitled.txt").write_text(BLUES.partition("\n")[2], encoding="utf-8")
    (folder / "waltz.abc").write_text("X:1\nT:Waltz (invented)\nM:3/4\nL:1/4\nK:G\nD|G2 B|d2 B|", encoding="utf-8")
    (folder / "tune.abc").write_text(TUNE, encoding="utf-8")
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    (folder / "tunes").mkdir()
    (folder / "tunes" / "tune.abc").write_text(TUNE, encoding="utf-8")
    (folder / "tunes" / "bad.mid").write_bytes(b"MThd")
    (folder / "bad.mid").write_bytes(b"MThd")
    for name in ("take", "who", "what", "quiet", "silence", "record"):
        (folder / f"{name}.wav").write_bytes(f"RIFF, invented, {name}".encode())
    (folder / "letter.txt").write_text("Dear Ada,\n\nwell done.\n", encoding="utf-8")
    lessons = {title.partition(" (")[0].replace(" ", "-"): tune_lesson(title) for title in TUNES}
    lessons |= {"porch": porch(), "sixth": sixth()}
    for name, lesson in lessons.items():
        (folder / "lessons" / name).mkdir(parents=True)
        (folder / "lessons" / name / "lesson.json").write_bytes(encode_lesson(lesson))
        (folder / f"{name}.json").write_bytes(encode_json(answered_file(_answered(lesson))))
    (folder / "second").mkdir()
    (folder / "second" / "lesson.json").write_bytes(
        encode_lesson(replace(porch_other_holes(), author="Ada (invented)"))
    )
    (folder / "corners").mkdir()
    (folder / "corners" / "lesson.json").write_bytes(encode_lesson_of_pieces(lesson_of_pieces()))
    for piece in lesson_of_pieces().pieces:
        (folder / "corners" / piece.folder).mkdir()
        (folder / "corners" / piece.folder / "lesson.json").write_bytes(encode_lesson(piece.lesson))
    (folder / "raw.cut.json").write_bytes(encode_cut(CUT))


def put_shelf(path: Path, folder: Path) -> None:
    """Phrases, two lessons, and students: one with takes of both, one with none, one whose take has no answer."""
    with Shelf(path, make=True) as shelf:
        add_to_shelf(shelf, [folder / "blues.txt", folder / "tunes" / "tune.abc"], tags=["blues", "slow"])
        add_to_shelf(shelf, [folder / "lessons" / "porch", folder / "lessons" / "Kite-weather"], tags=["home"])
        put_student(shelf, "Ada (invented)", StudentSaid("easy", ("A", "Low F"), ("draw_bends",), "left-handed"))
        put_student(shelf, "Bo (invented)", StudentSaid())
        put_student(shelf, "Cy (invented)", StudentSaid(harps=("C",)))
        put_student(shelf, "Di (invented)", StudentSaid(harps=("C",)))
        for name, title in (("porch", "Porch steps"), ("Kite-weather", "Kite weather (invented)")) * 2:
            answer = folder / f"{name}.json"
            add_take(shelf, folder / "take.wav", student="Ada (invented)", lesson=title, answer=answer, note="")
        early, answer = folder / "who.wav", folder / "porch.json"
        add_take(shelf, early, student="Di (invented)", lesson="Porch steps", answer=answer, note="")
        add_take(shelf, folder / "take.wav", student="Cy (invented)", lesson=None, answer=None, note="quick")


class _Stopped(datetime):
    """A clock that stands, long after all that was kept."""

    @classmethod
    def now(cls, tz: Any = None) -> Any:
        return NOW + timedelta(days=39)


# ------------------------------------------------------------------------------------------------- what the jobs give


def _piece(film: int, start: float, first: int | None, **fields: Any) -> CutPiece:
    kind = CutKind.TALK if first is None else CutKind.PLAY
    plain = {"keep": True, "why": CutWhy.TALK if first is None else CutWhy.BEST}
    return CutPiece(film, start, start + 4.26, kind, first=first, **(plain | fields))


_PLAYED = {"last": 4, "tempo_factor": 0.753, "right": 0.876, "part": "A", "tempo": "slow"}
CUT = FilmCut(
    ("raw.mp4", "side.mp4", "room.wav"),
    (60.0, 61.04, 59.0),
    (
        _piece(0, 0.0, None),
        _piece(0, 5.0, 0, **_PLAYED),
        _piece(1, 12.0, 0, keep=False, why=CutWhy.ANOTHER, **_PLAYED),
        _piece(1, 20.0, 0, **(_PLAYED | {"last": 1, "tempo": "", "harp": "A"})),
        _piece(1, 30.0, None, keep=False, why=CutWhy.SILENCE),
    ),
    (FilmClock(1, 0, 2.0, 1.0001), FilmClock(2, 0, 1.0)),
    (0.0, 1.26, -2.5),
)


def _heard(recording: Path) -> TranscribedRecording:
    """What is written down of a recording: by its name a harmonica's, a record's or nothing."""
    notes = tuple(
        HeardNote(
            at, at + 0.456789, midi, cents, 0.87654321 if midi > 64 else 0.3, -12.0, attacked=midi != 67,
            contour_seconds=np.array([at]), contour_midi=np.array([midi + cents / 100]),
        )
        for at, midi, cents in SAMPLES
    )  # fmt: skip
    phrase = phrase_of("e4 1/4 g4 a4 1/2", key="Em", title="take")
    if recording.stem == "silence":
        phrase = Phrase((), left_out=(LeftOut("nothing-heard"), LeftOut("faint-notes", count=2)))
    elif recording.stem == "record":
        events = tuple(
            replace(one, doubtful=at == 0, place=Place(seconds=1.2345 + at), cents=(12.6,))
            for at, one in enumerate(phrase.events)
        )
        left_out = (LeftOut("faint-notes", count=1), LeftOut("doubtful-notes", count=1))
        phrase = replace(phrase, events=events, left_out=left_out)
    guess = KeyGuess(Key(4, "minor"), 0.87654321, Key(7), blues=False)
    beats = Beats((0.5, 1.0, 1.5), 120.0, 0.9)
    written = Transcription(phrase, notes, beats, 0, guess, 0.0123456)
    route = porch().route if recording.stem == "take" else None
    is_record = recording.stem == "record"
    record = SimpleNamespace(where=Whereabouts(51.26, 77.84, 0.4567)) if is_record else None
    return TranscribedRecording(written, phrase, route, record)  # type: ignore[arg-type]


def _lined_up(recording: Path, taught: Any, **_: Any) -> Any:
    pieces = (0,) if isinstance(taught, Lesson) else (0, 3)
    if recording.stem == "silence":
        pieces = (0,)
    return tuple(PieceLinedUp(piece, _lined_up_piece(recording, phrases_taught(taught)[piece])) for piece in pieces)


def _lined_up_piece(recording: Path, lesson: Lesson) -> Any:
    play = _answered(lesson).answer.plays[0].play
    plays = () if recording.stem == "silence" else (play, replace(play, tempo_factor=0.7549))
    return SimpleNamespace(route=lesson.route, play_throughs=plays)


def _answer(recording: Path, taught: Any, **_: Any) -> AnsweredTake:
    if isinstance(taught, Lesson):
        return _answered(taught)
    return AnsweredTake(taught, tuple(_answered_piece(taught.pieces[piece].lesson, piece) for piece in (0, 3)))


def _found(incoming: Any, ground: Any, progress: Any) -> list[Any]:
    """Of takes by the names of their files: one that is sure, of an unknown student, of an unknown lesson, unread."""
    found: list[Any] = []
    ada, bo, *_ = (one.number for one in ground.students)
    lessons = tuple(LessonHeard(one.version.number, one.title, 0.87654) for one in ground.lessons)
    answer = encode_json(answered_file(_answered(porch()))).decode()
    for take in incoming:
        who, what = take.student, take.version
        match take.name:
            case "who.wav":
                found.append(FoundTake(take, who, lessons[0].version, (ada, bo), lessons[:1], answer, 0.754))
            case "what.wav":
                found.append(FoundTake(take, bo, what, (bo,), lessons))
            case "bad.mid":
                found.append(ReadError("readers.header_breaks_off", where=Place(file=take.name)))
            case _:
                right = None if take.name == "quiet.wav" else 0.754
                found.append(
                    FoundTake(take, who or bo, what or lessons[1].version, (bo,), lessons[1:], answer, right)
                )
    return found


def _made(read: Any, request: Any, wishes: Any, out: Path, **_: Any) -> MadeLesson[Lesson]:
    route = built_route("2d:1 3d':1 4b:1 4d:1")
    phrase = replace(route.phrase, left_out=read.phrase.left_out)
    position = None if read.phrase.title == "" else 2
    route = replace(route, phrase=phrase, position=position)
    made = make_lesson(route, title=wishes.title or read.phrase.title)
    return MadeLesson(made, Written(("lesson.json", "steps.md"), {"tab.txt": "tab (old).txt"}, healed=position == 2))


def _made_pieces(pieces: Any, wishes: Any, out: Path, **_: Any) -> Any:
    whole = lesson_of_pieces()
    phrase = replace(whole.pieces[1].lesson.route.phrase, left_out=(LeftOut("trills", Place(bar=3)),))
    second = whole.pieces[1]
    route = replace(second.lesson.route, phrase=phrase, position=None)
    changed = replace(second, lesson=replace(second.lesson, route=route))
    whole = replace(whole, pieces=(whole.pieces[0], changed, *whole.pieces[2:]))
    return MadeLesson(whole, Written(("index.html",)))


def _revised(folder: Path, said: Any, **named: Any) -> Revised:
    words = OwnWords("en", WordsKind.SENTENCE, StepPlace("part", 0, 2, 2, 1), "Sit down.", "Play it.", "-2")
    gone = replace(words, text="")
    about = replace(words, place=StepPlace("part"), text="Hello.")
    piece = RevisedPiece({3: Move((4,), Breath.DRAW), 1: Move((3,), Breath.DRAW)}, (words,), (words, gone, about))
    written = Written(("lesson.json",), {"steps.md": "steps (old).md"})
    others = ("film.mp4", "jam.mp4")
    again = {"again": others} if named["all_again"] else {"older": others}
    if folder.name == "corners":
        whole = lesson_of_pieces()
        pieces = (piece, *(RevisedPiece() for _ in whole.pieces[1:]))
        return Revised(whole, written, pieces, **again)
    return Revised(porch(), written, (piece if folder.name == "porch" else RevisedPiece(),), **again)


def _proposed_cut(lesson: Lesson, films: Any, **_: Any) -> Any:
    heard = (HarpHeard("A", -3, 0, 0, 0.9, 0.1),)
    return jobs.CutProposal(CUT, ((), (), ()), ((), (), ()), heard)


def _sounds(lesson: Any, *_: Any, **__: Any) -> Written:
    return Written(("play-along-70.wav", "play-along-100.wav"))


def _film(*_: Any, **__: Any) -> Written:
    return Written(("film.mp4", "film.vtt"), {"film.srt": "film (old).srt"})


def _cut_film(lesson: Any, films: Any, wishes: Any, out: Path, **_: Any) -> Written:
    out.with_name(f"{out.stem}.cut.json").write_bytes(encode_cut(CUT))
    return _film()


_RETUNINGS = RetuningSurvey(
    12.26004,
    (
        Retuning((ReedChange(3, Breath.BLOW, 2),), porch().route.harp.tuning, 9.04004, 3.22004),
        Retuning((ReedChange(10, Breath.DRAW, -1),), porch().route.harp.tuning, 11.0, 1.26004),
    ),
    80,
)


def _overview(run: TakesRun, words: Catalogue, progress: Any) -> OverviewMade:
    overview = overview_of(run.so_far, run.asked.lessons, words, out=run.asked.out)
    return OverviewMade(overview, {"takes.html": "takes (old).html"} if run.asked.out else {})


def _served(*_: Any, tell: Callable[[str], None], **__: Any) -> None:
    for port in (8000, 8001):
        tell(f"http://127.0.0.1:{port}/")


# of each job, what it gives
GIVES: dict[str, Callable[..., Any]] = {
    "make_lesson_folder": _made,
    "make_lesson_of_pieces_folder": _made_pieces,
    "revise_lesson": _revised,
    "make_practice_sounds": _sounds,
    "make_practice_sounds_of_pieces": _sounds,
    "make_film": _film,
    "make_take_film": _film,
    "make_cut_film": _cut_film,
    "propose_cut": _proposed_cut,
    "write_proposal": lambda *_, **__: ("film.cut.json", "film.xml"),
    "keep_heard": lambda *_: True,
    "kept_plays": lambda *_: ((), (), ()),
    "timeline_as_list": lambda cut, films, out, **_: out.stem != "other",
    "retunings_for": lambda lessons, **_: _RETUNINGS,
    "make_lesson_index": lambda folder, **_: (find_lessons([folder]), Written(("index.html", "sheets.pdf"))),
    "tune_from": lambda _: typed_melody("G B D G"),
    "slow_recording": lambda *_, **__: None,
}
GIVES_HEARING: dict[str, Callable[..., Any]] = {
    "write_down_recording": lambda recording, *_, **__: _heard(recording),
    "line_up_pieces": _lined_up,
    "answer_recording": _answer,
    "write_answer": lambda *_, **__: Written(("answer.json", "answer.txt", "take.svg")),
}


def _telling(name: str, gives: Callable[..., Any]) -> Callable[..., Any]:
    """A stand-in for a job, which prints what it is asked."""

    def asked(*given: Any, **named: Any) -> Any:
        told = [shown(one) for one in given if not callable(one)]
        told += [f"{key}={shown(value)}" for key, value in named.items()]
        sys.stdout.write(f"  asked: {name}({', '.join(told)})\n")
        return gives(*given, **named)

    return asked


def stand_in(monkeypatch: pytest.MonkeyPatch, *, first: int) -> None:
    """Put the stand-ins in the places of the jobs, stop the clock, and number new records from the first on."""
    for name, gives in GIVES.items():
        assert inspect.isroutine(getattr(jobs, name))
        monkeypatch.setattr(jobs, name, _telling(name, gives))
    for name, gives in GIVES_HEARING.items():
        monkeypatch.setattr(hearing, name, _telling(name, gives))
    monkeypatch.setattr(incoming_takes, "hear_takes", _found)
    monkeypatch.setattr(takes, "answer_with_overview", _telling("answer_with_overview", _overview))
    monkeypatch.setattr(studio, "serve_studio", _telling("serve_studio", _served))
    monkeypatch.setattr(hearing, "play_throughs_as_data", lambda plays: {"play_throughs": len(plays)})
    monkeypatch.setattr(students, "datetime", _Stopped)
    fix_records(monkeypatch, first=first)


__all__ = ["put_files", "put_shelf", "stand_in"]
