"""What is asked at a command reaches the job as it was asked, and what the job gives is said; no job is done."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from reedpath import jobs
from reedpath.cli import form_places
from reedpath.cli.completion import PowerShellComplete
from reedpath.cli.footage import film_from_footage
from reedpath.cli.hearing import show_transcription
from reedpath.cli.lessons import _own
from reedpath.cli.making import (
    _changed_lines,
    _other_lines,
    _tell_lesson,
    _unfit_lines,
    film_of_lesson,
    film_of_takes,
    lesson_wishes,
    make_sounds,
    revise_folder,
    slow_down,
    take_wishes,
)
from reedpath.cli.routes import _why
from reedpath.cli.shelves import say_harps, say_student, undo_last
from reedpath.errors import SettingsError
from reedpath.film import CutKind, CutOrder, CutPiece, CutWhy, FilmCut, FilmWishes, TakeWishes
from reedpath.harp import Breath, Move
from reedpath.jobs.folders import Written
from reedpath.jobs.hearing import HearingChoice
from reedpath.jobs.lesson_plans import PlannedPiece
from reedpath.jobs.practising import PractiseWishes
from reedpath.lesson import OwnWords, StepPlace, WordsKind
from reedpath.phrase import LeftOut, Phrase
from reedpath.sound import Backing, PlayAlong, Turns
from reedpath.wording import load_catalogue
from support.built_routes import built_route
from support.pieces import lesson_of_pieces, porch
from support.routes import choose

ENGLISH = load_catalogue("en")
LESSON = porch()
OUT = Path("some") / "film.mp4"
SAID = {"replace": True, "language": "en", "json": True}


class Asked:
    """Jobs that only note what they are asked."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.monkeypatch, self.of = monkeypatch, {}

    def job(self, name: str, gives: object, *, where: object = jobs) -> None:
        def asked(*given: object, **named: object) -> object:
            assert callable(named.pop("progress", print))
            self.of.setdefault(name, []).append((given, named))
            return gives

        self.monkeypatch.setattr(where, name, asked)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    found = Asked(monkeypatch)
    found.job("read_lesson", LESSON)
    found.job("read_taught", LESSON)
    return found


# ------------------------------------------------------------------------------------------------------------- films


def test_a_film_of_a_lesson(asked: Asked, capsys) -> None:
    asked.job("make_film", Written(("film.mp4", "film.en.vtt")))
    wishes = FilmWishes("upright", "paper", "en")
    film_of_lesson(Path("lesson"), OUT, wishes, **SAID)
    assert asked.of == {
        "read_taught": [((Path("lesson"),), {})],
        "make_film": [((LESSON, wishes, OUT), {"replace": True})],
    }
    assert json.loads(capsys.readouterr().out)["files"] == ["film.mp4", "film.en.vtt"]


def test_a_strip_over_ones_own_film(asked: Asked, capsys) -> None:
    asked.job("make_take_film", Written(("film.mp4",), {"film.mp4": "film-1.mp4"}))
    wishes = TakeWishes("beside")
    film_of_takes(Path("lesson"), Path("own.mp4"), wishes, OUT, strip="green", **{**SAID, "json": False})
    assert asked.of["make_take_film"] == [
        ((LESSON, Path("own.mp4"), wishes, OUT), {"overlay": "green", "replace": True})
    ]
    told = capsys.readouterr().out
    assert "film.mp4" in told
    assert "film-1.mp4" in told


CUT = FilmCut(
    ("raw.mp4",), (60.0,), (CutPiece(0, 1.0, 3.5, CutKind.TALK, keep=True, why=CutWhy.TALK),
                            CutPiece(0, 3.5, 60.0, CutKind.SILENCE, keep=False, why=CutWhy.SILENCE)),
)  # fmt: skip
FILMS = (Path("raw.mp4"),)


@pytest.mark.parametrize(
    ("list_there", "heard_there"), [(False, False), (True, False), (True, True)], ids=["nothing", "a list", "both"]
)
def test_a_cut_is_proposed_only_where_no_list_is_and_heard_only_where_it_was_not(
    asked: Asked, monkeypatch, capsys, tmp_path: Path, list_there: bool, heard_there: bool
) -> None:
    out, own = tmp_path / "film.mp4", replace(CUT, lengths=(61.0,))
    listed, wishes = tmp_path / "film.cut.json", TakeWishes()
    if list_there:
        listed.write_text("{}")
    asked.job("cut_beside", listed)
    asked.job("read_cut", own)
    asked.job("kept_plays", "what was heard" if heard_there else None)
    asked.job("propose_cut", SimpleNamespace(cut=CUT, plays="heard now"))
    asked.job("make_cut_film", Written(("film.mp4",)))
    asked.job("timeline_as_list", heard_there)
    film_from_footage(Path("lesson"), FILMS, wishes, out, render=True, cut_as=None, **{**SAID, "json": False})
    cut, plays = own if list_there else CUT, "what was heard" if heard_there else "heard now"
    assert asked.of["make_cut_film"] == [
        ((LESSON, FILMS, wishes, out), {"cut": cut, "plays": plays, "replace": True})
    ]
    proposed = [] if heard_there else [((LESSON, FILMS), {"order": CutOrder.TAUGHT})]
    assert asked.of.get("propose_cut", []) == proposed
    assert asked.of.get("kept_plays", []) == ([((listed, LESSON, FILMS, out), {})] if list_there else [])
    told = capsys.readouterr().out
    assert ("film.cut.json" in told) is list_there
    assert asked.of.get("timeline_as_list", []) == (
        [((own, FILMS, out), {"title": LESSON.title})] if list_there else []
    )
    assert ("film.otio says another cut" in told) is (list_there and not heard_there)
    assert "2.5" in told


def test_a_list_that_is_named_is_obeyed(asked: Asked, capsys) -> None:
    asked.job("cut_beside", Path("another"))
    asked.job("read_cut", CUT)
    asked.job("kept_plays", "what was heard")
    asked.job("make_cut_film", Written(("film.mp4",)))
    asked.job("timeline_as_list", True)
    film_from_footage(Path("lesson"), FILMS, TakeWishes(), OUT, render=False, cut_as=Path("my.json"), **SAID)
    assert asked.of["read_cut"] == [((Path("my.json"),), {})]
    assert asked.of["make_cut_film"][0][1] == {"cut": CUT, "plays": "what was heard", "replace": True}
    assert json.loads(capsys.readouterr().out)["files"] == ["film.mp4"]


# ------------------------------------------------------------------------------------------------ lessons and sounds


def test_a_recording_is_slowed_as_it_was_asked(asked: Asked, capsys) -> None:
    asked.job("slow_recording", None)
    slow_down(Path("a.wav"), Path("slow.wav"), 0.6, (1.5, 4.0), broken_off=True, replace=False, language="en")
    named = {"start_seconds": 1.5, "end_seconds": 4.0, "broken_off": True, "replace": False}
    assert asked.of["slow_recording"] == [((Path("a.wav"), 0.6, Path("slow.wav")), named)]
    assert capsys.readouterr().out == "slow.wav\n"


@pytest.mark.parametrize(("taught", "job"), [
    (LESSON, "make_practice_sounds"), (lesson_of_pieces(), "make_practice_sounds_of_pieces")])  # fmt: skip
@pytest.mark.parametrize("play", [PlayAlong(), Backing()])
def test_sounds_to_practise_with(asked: Asked, monkeypatch, capsys, taught, job: str, play: PlayAlong) -> None:
    asked.job("read_taught", taught)
    asked.job(job, Written(("slow.wav",)))
    proposed = {"proposed": {"bar": 5}}
    monkeypatch.setattr(form_places, "every_proposal_as_data", lambda *given: proposed if given[0] is taught else {})
    monkeypatch.setattr(form_places, "every_proposal_lines", lambda *given: ["It sits better at bar 5."])
    wishes = PractiseWishes(play)
    make_sounds(Path("lesson"), wishes, Path("out"), **SAID)
    assert asked.of[job] == [((taught, wishes, Path("out")), {"replace": True})]
    told = json.loads(capsys.readouterr().out)
    assert told["files"] == ["slow.wav"]
    assert ("proposed" in told) is isinstance(play, Backing)
    make_sounds(Path("lesson"), wishes, Path("out"), **{**SAID, "json": False})
    lines = capsys.readouterr().out
    assert "slow.wav" in lines
    assert ("It sits better at bar 5." in lines) is isinstance(play, Backing)


def test_calls_need_rounds_or_spots(asked: Asked) -> None:
    calls = PlayAlong(turns=Turns.CALL)
    with pytest.raises(SettingsError) as told:
        make_sounds(Path("lesson"), PractiseWishes(calls), Path("out"), **SAID)
    assert told.value.key == "cli.call_needs_rounds_or_spots"
    asked.job("make_practice_sounds", Written(()))
    make_sounds(Path("lesson"), PractiseWishes(calls, spots=True), Path("out"), **SAID)
    with pytest.raises(SettingsError) as told:
        lesson_wishes(PractiseWishes(calls), screen="upright", palette="night", steps=True, language=None)
    assert told.value.key == "cli.call_needs_rounds"
    heard = PractiseWishes(Backing(turns=Turns.CALL), rungs=("slow",))
    wishes = lesson_wishes(heard, screen="upright", palette="paper", steps=False, language="fr")
    assert wishes == FilmWishes("upright", "paper", "fr", ("slow",), False, play=heard.play)


@pytest.mark.parametrize(
    ("heard", "key"),
    [
        (PractiseWishes(PlayAlong(count_in_bars=2)), "cli.film_keeps_its_sound"),
        (PractiseWishes(rungs=("slow",)), "cli.film_keeps_its_tempos"),
    ],
)
def test_ones_own_film_keeps_its_sound(heard: PractiseWishes, key: str) -> None:
    with pytest.raises(SettingsError) as told:
        take_wishes(heard, "over", screen="landscape", palette="night", language=None)
    assert told.value.key == key
    assert take_wishes(PractiseWishes(), "beside", screen="upright", palette="paper", language="fr") == TakeWishes(
        "beside", "upright", "paper", "fr"
    )


def test_a_lesson_is_revised_and_what_became_of_it_is_said(asked: Asked, capsys) -> None:
    words = OwnWords("en", WordsKind.NOTE, StepPlace("intro"), "Breathe.")
    changed = SimpleNamespace(moves={2: Move((5,), Breath.BLOW)}, new_words=(words,), unfit=())
    revised = SimpleNamespace(
        lesson=LESSON, pieces=[changed], new_words=(), unfit=(), again=("film.mp4",), older=(),
        written=Written(("steps.md",)),
    )  # fmt: skip
    asked.job("revise_lesson", revised)
    revise_folder(Path("lesson"), "what is said", all_again=True, language="en", json=True)
    assert asked.of["revise_lesson"] == [((Path("lesson"), "what is said"), {"all_again": True})]
    told = json.loads(capsys.readouterr().out)
    assert (told["files"], told["made_before"], told["made_again"]) == (["steps.md"], [], ["film.mp4"])
    assert [one["event"] for one in told["changed_moves"]] == [2]
    assert [one["text"] for one in told["new_words"]] == ["Breathe."]
    assert told["no_longer_fits"] == []
    revise_folder(Path("lesson"), "what is said", all_again=False, language="en", json=False)
    lines = capsys.readouterr().out
    assert all(one in lines for one in ("+5", "film.mp4", "steps.md"))
    unchanged = SimpleNamespace(moves={}, new_words=(), unfit=())
    nothing = SimpleNamespace(**{**vars(revised), "pieces": [unchanged], "again": ()})
    asked.job("revise_lesson", nothing)
    revise_folder(Path("lesson"), "what is said", all_again=False, language="en", json=False)
    assert ENGLISH.say("revise.nothing") in capsys.readouterr().out


def test_a_lesson_of_pieces_is_revised_piece_by_piece(asked: Asked, capsys) -> None:
    taught = lesson_of_pieces()
    none = SimpleNamespace(moves={}, new_words=(), unfit=())
    second = SimpleNamespace(moves={0: Move((5,), Breath.BLOW)}, new_words=(), unfit=())
    revised = SimpleNamespace(
        lesson=taught, pieces=[none, second, *[none] * (len(taught.pieces) - 2)], new_words=(), unfit=(), again=(),
        older=(), written=Written(("steps.md",)),
    )  # fmt: skip
    asked.job("revise_lesson", revised)
    revise_folder(Path("lesson"), "what is said", all_again=False, language="en", json=True)
    told = json.loads(capsys.readouterr().out)
    assert [len(one["changed_moves"]) for one in told["pieces"]] == [0, 1, *[0] * (len(taught.pieces) - 2)]
    assert [one["folder"] for one in told["pieces"]] == [one.folder for one in taught.pieces]
    revise_folder(Path("lesson"), "what is said", all_again=False, language="en", json=False)
    heading, move, *_ = capsys.readouterr().out.splitlines()
    assert taught.pieces[1].lesson.title in heading
    assert move.startswith("  ")
    assert "+5" in move
    assert asked.of["revise_lesson"] == [((Path("lesson"), "what is said"), {"all_again": False})] * 2


# ------------------------------------------------------------------------------------------------- lessons and routes


def test_of_a_lesson_that_was_made_title_harp_files_and_what_is_missing_are_said(capsys) -> None:
    phrase = replace(LESSON.route.phrase, left_out=(LeftOut("key-changes"),))
    lesson = replace(LESSON, route=replace(LESSON.route, phrase=phrase))
    _tell_lesson(SimpleNamespace(lesson=lesson, written=Written(("steps.md",))), Path("lesson"), ENGLISH)
    told = capsys.readouterr().out
    for said in ("Porch steps", "C harp", "steps.md", "1 change of key"):
        assert said in told


def test_why_a_move_is_chosen_is_told_with_points_of_two_decimals() -> None:
    route = choose(built_route("2d:1 3d':1", key="C"), 1, move=None)
    head, first, second = _why(route, "sign", ENGLISH)
    assert len(head) == 6
    assert first[:4] == ["1", "0", "G4", "-2"]
    assert second[:4] == ["2", "1", "B♭4", "–"]
    for row, one in zip((first, second), route.events, strict=True):
        assert row[4] == f"{one.effort.total:.2f}"
        assert row[5].count(".") == len(one.effort.terms)


def test_what_became_of_a_lesson_that_was_revised_is_said() -> None:
    revised = SimpleNamespace(again=("film.mp4",), older=("ladder.wav", "week.txt"))
    again, older = _other_lines(revised, ENGLISH, all_again=False)
    assert "film.mp4" in again
    assert "ladder.wav and week.txt" in older
    still = list(_other_lines(revised, ENGLISH, all_again=True))
    assert still[0] == again
    assert still[1] != older
    assert list(_other_lines(SimpleNamespace(again=(), older=()), ENGLISH, all_again=True)) == []
    draw, blow = Move((4,), Breath.DRAW), Move((5,), Breath.BLOW)
    moved = list(_changed_lines({6: draw, 2: blow}, 2, "sign", ENGLISH))
    assert [one in line for one, line in zip(("+5", "-4"), moved, strict=False)] == [True, True]
    assert ("3" in moved[0], "7" in moved[1], len(moved)) == (True, True, 3)
    assert len(list(_changed_lines({}, 0, "sign", ENGLISH))) == 0


def test_words_that_no_longer_fit_are_told_with_their_place() -> None:
    def words(text: str, first: int | None) -> OwnWords:
        return OwnWords("fr", WordsKind.SENTENCE, StepPlace("part", first=first), text)

    at, whole, unsaid = _unfit_lines([words("Douce", 4), words("Lente", None), words("", 4)], ENGLISH)
    assert all(one in at for one in ("Douce", "fr", "5"))
    assert "Lente" in whole
    assert "5" not in whole
    assert ENGLISH.say("revise.left_unsaid") in unsaid


def test_what_a_planned_piece_says_is_what_options_would() -> None:
    piece = PlannedPiece(source="a.txt", harp="A", owned=("A", "C"), bars=5, level="easy")
    named = {"harp": "harp", "owned": "owned", "bars": "bars", "key": "music_key"}
    assert _own(piece, named) == {"harp": "A", "owned": "A,C", "bars": "5"}


def test_places_are_proposed_for_each_piece_that_would_sit_better(monkeypatch) -> None:
    taught, backing, told = lesson_of_pieces(), object(), []

    def proposed(lesson, of_backing):
        assert of_backing is backing
        told.append(lesson)
        return None if len(told) == 2 else {"bar": len(told)}

    monkeypatch.setattr(form_places, "proposal_as_data", proposed)
    folders = [one.folder for one in taught.pieces]
    found = form_places.every_proposal_as_data(taught, backing)["proposed_of_pieces"]
    assert found == {folder: {"bar": place} for place, folder in enumerate(folders, start=1) if place != 2}
    assert told == [one.lesson for one in taught.pieces]
    monkeypatch.setattr(form_places, "proposal_as_data", lambda *given: {"bar": 9})
    assert form_places.every_proposal_as_data(LESSON, backing) == {"proposed": {"bar": 9}}
    monkeypatch.setattr(form_places, "proposal_as_data", lambda *given: None)
    assert form_places.every_proposal_as_data(taught, backing) == {}
    assert form_places.every_proposal_as_data(LESSON, backing) == {}


def test_a_recording_is_written_down_as_it_was_asked(asked: Asked, monkeypatch, capsys) -> None:
    from reedpath.cli import hearing

    heard = SimpleNamespace(phrase=Phrase((), left_out=(LeftOut("nothing-heard"),)), route=None, record=None)
    asked.job("write_down_recording", heard, where=hearing)
    choice = HearingChoice(from_seconds=3.0)
    show_transcription(Path("a.wav"), choice, out=None, replace=False, notation="sign", language="en", json=False)
    assert asked.of["write_down_recording"] == [((Path("a.wav"), choice), {})]
    assert capsys.readouterr().out.strip() == ENGLISH.say("hear.nothing")


# -------------------------------------------------------------------------------------------------------- the shelf


def test_a_student_is_put_on_a_shelf_that_is_made_and_taken_off_and_put_on_again(tmp_path: Path, capsys) -> None:
    shelf = tmp_path / "a.sqlite"
    of = {"level": "easy", "owned": "A,C", "techniques": (), "note": "Tuesdays"}
    say_student("Ada (invented)", shelf, **of, language="en", json=True)
    told = json.loads(capsys.readouterr().out)
    assert (told["name"], told["level"], told["note"]) == ("Ada (invented)", "easy", "Tuesdays")
    assert sorted(told["harps"]) == ["A", "C"]
    undo_last(shelf, redo=False, language="en", json=False)
    undone = capsys.readouterr().out.splitlines()
    undo_last(shelf, redo=True, language="en", json=False)
    redone = capsys.readouterr().out.splitlines()
    assert len(undone) == len(redone) == 2
    assert undone[0] != redone[0]
    undo_last(shelf, redo=True, language="en", json=True)
    assert json.loads(capsys.readouterr().out)["step"] is None
    undo_last(shelf, redo=True, language="en", json=False)
    assert capsys.readouterr().out.strip() == ENGLISH.say("shelf.no_redo")


def test_harps_of_one_tuning_are_put_beside_those_of_others(tmp_path: Path, capsys) -> None:
    shelf = tmp_path / "a.sqlite"
    say_harps("A,C", "standard", shelf, language="en", json=False)
    capsys.readouterr()
    say_harps("D", "natural-minor-first", shelf, language="en", json=False)
    assert capsys.readouterr().out.split("\n")[:3] == ["A", "C", "D (natural-minor-first)"]
    say_harps("G", "standard", shelf, language="en", json=True)
    found = [(one["harp"], one["tuning"]) for one in json.loads(capsys.readouterr().out)["harps"]]
    assert sorted(found) == [("D", "natural-minor-first"), ("G", "standard")]


# ------------------------------------------------------------------------------------------------------- completion


@pytest.mark.parametrize(
    ("line", "word", "found"),
    [
        ("reedpath lesson so", "so", (["lesson"], "so")),
        ("reedpath lesson ", "", (["lesson"], "")),
        ("reedpath", "", ([], "")),
        ("reedpath le", "le", ([], "le")),
    ],
)
def test_the_word_that_is_completed_is_not_among_those_before_it(monkeypatch, line: str, word: str, found) -> None:
    monkeypatch.setenv("COMP_WORDS", line)
    monkeypatch.setenv("COMP_LAST", word)
    assert PowerShellComplete(None, {}, "reedpath", "_COMPLETE").get_completion_args() == found
