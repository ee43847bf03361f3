"""A sound that lies in a lesson's folder as it was made, and is what would be made, is kept; all else sounds anew."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from dataclasses import replace as plain_replace
from fractions import Fraction
from pathlib import Path

import pytest
from msgspec.structs import replace

from reedpath.harp import make_harp
from reedpath.jobs import kept_sounds, read_lesson, write_lesson, write_lesson_of_pieces
from reedpath.jobs.kept_sounds import KeptSounds, practice_key, sound_key
from reedpath.jobs.lesson_folders import read_taught
from reedpath.jobs.lesson_pages import sounds_in_page
from reedpath.jobs.practising import PractiseWishes, make_practice_sounds, sound_practice_rung
from reedpath.jobs.processes import ShareReport
from reedpath.jobs.revising import revise_lesson
from reedpath.jobs.wording_of_lessons import SaidOfLesson
from reedpath.lesson import Lesson, LessonOfPieces, Rung, decode_lesson, encode_lesson, in_order
from reedpath.phrase import Metre
from reedpath.signal import BytesPut
from reedpath.sound import Backing, PlayAlong, PlayAlongLayout, Turns, lay_out, play_along_name, sound_blocks
from support.built_routes import built_lesson, built_route
from support.lesson_folders import contents, edit, forget_sounds
from support.pieces import piece_lesson

TOKENS = "2d:1 3d' 4b 4d:1"
SLOW, FULL = Rung("slow", 0.75, 120.0), Rung("full", 1.0, 160.0)


def small(tokens: str = TOKENS, **fields: object) -> Lesson:
    """A lesson as it is read from a folder, which rounds what was typed by hand."""
    made = replace(built_lesson(built_route(tokens, bpm=160.0, **fields)), ladder=(SLOW, FULL))  # type: ignore[arg-type]
    return decode_lesson(encode_lesson(made))


@pytest.fixture(scope="module")
def small_folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("small") / "lesson"
    write_lesson(small(), folder)
    return folder


@pytest.fixture
def folder(small_folder, tmp_path) -> Path:
    return Path(shutil.copytree(small_folder, tmp_path / "lesson"))


@pytest.fixture
def sounded(monkeypatch) -> list[float]:
    """Seconds of each sound that is made."""
    made: list[float] = []

    def counted(layout: PlayAlongLayout) -> object:
        made.append(layout.seconds)
        return sound_blocks(layout)

    monkeypatch.setattr("reedpath.jobs.rung_sounds.sound_blocks", counted)
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    return made


def seconds(lesson: Lesson) -> list[float]:
    return [lay_out(lesson, rung).seconds for rung in lesson.ladder]


# ------------------------------------------------------------------------------------------------ what is made of it


@pytest.mark.slow
def test_words_revised_with_the_sounds_kept_give_the_folder_that_all_made_anew_gives(porch_folder, tmp_path, sounded):
    kept, anew = Path(shutil.copytree(porch_folder, tmp_path / "kept")), tmp_path / "anew"
    item = next(
        line for line in (kept / "steps.md").read_text(encoding="utf-8").splitlines() if line.startswith("- ")
    )
    edit(kept / "steps.md", (item, "- In my own words."))
    revised = revise_lesson(kept, SaidOfLesson(title="Rain", author="A. Teacher (invented)"))
    assert (sounded, revised.written.kept) == ([], {})
    assert revised.pieces[0].new_words
    write_lesson(revised.lesson, anew)
    assert sorted(sounded) == sorted(seconds(revised.lesson))
    assert contents(kept) == contents(anew)


@pytest.mark.slow
def test_only_the_tempo_that_is_new_sounds_and_the_old_one_is_gone(folder, tmp_path, sounded):
    lesson = replace(small(), ladder=(Rung("slow", 0.5, 80.0), FULL))
    write_lesson(lesson, folder, replace=True)
    assert sounded == [lay_out(lesson, lesson.ladder[0]).seconds]
    assert not (folder / play_along_name(SLOW)).exists()
    write_lesson(lesson, tmp_path / "anew")
    assert contents(folder) == contents(tmp_path / "anew")


def test_a_changed_move_sounds_anew_at_each_tempo(folder, tmp_path, sounded):
    before = contents(folder)
    lesson = small("2d:1 3d' 4b 5d:1")
    write_lesson(lesson, folder, replace=True)
    assert sorted(sounded) == sorted(seconds(lesson))
    after = contents(folder)
    assert all(after[play_along_name(rung)] != before[play_along_name(rung)] for rung in (SLOW, FULL))


@pytest.mark.slow
def test_of_several_pieces_those_that_sound_as_before_are_kept_wherever_they_stand(pieces_folder, tmp_path, sounded):
    folder = Path(shutil.copytree(pieces_folder, tmp_path / "pieces"))
    before = contents(folder)
    revise_lesson(folder)
    assert sounded == []
    # data of a route typed by hand are rounded as they are read back
    plain = {name: data for name, data in before.items() if not name.endswith(".json")}
    assert {name: data for name, data in contents(folder).items() if not name.endswith(".json")} == plain
    lesson = read_taught(folder)
    assert isinstance(lesson, LessonOfPieces)
    other = piece_lesson("3d':1 2d:1 1b:1 2d:1 2d:2 r:2", "Answer")
    pieces = [replace(one, lesson=other) if one.folder == "3-answer" else one for one in lesson.pieces]
    order = [3, 0, 1, 2, 4]
    moved = in_order(replace(lesson, pieces=tuple(pieces)), order)
    write_lesson_of_pieces(moved, folder, replace=True)
    assert sorted(sounded) == sorted(seconds(other))
    for piece, index in zip(moved.pieces, order, strict=True):
        for rung in piece.lesson.ladder if piece.lesson != other else ():
            name = play_along_name(rung)
            assert (folder / piece.folder / name).read_bytes() == before[f"{pieces[index].folder}/{name}"]
    sounds, old = sounds_in_page((folder / "lesson.html").read_bytes()), sounds_in_page(before["lesson.html"])
    assert len(set(sounds) - set(old)) == len(other.ladder)
    assert len(sounds) == len(old)
    # what the lists say now is what lies there
    kept = KeptSounds(folder)
    for piece in moved.pieces:
        for rung in piece.lesson.ladder:
            assert kept.take(sound_key(piece.lesson, rung), tmp_path / "taken.wav") in sounds
            assert (tmp_path / "taken.wav").read_bytes() == (
                folder / piece.folder / play_along_name(rung)
            ).read_bytes()


# ----------------------------------------------------------------------------------- files that are not as they were


def _longer(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"hers")


def _elsewhere(path: Path) -> None:
    path.rename(path.parent.parent / "away.wav")
    os.symlink(path.parent.parent / "away.wav", path)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "change", "again", "kept"),
    [
        (play_along_name(FULL), _longer, (FULL,), ["play-along-160.kept.wav"]),
        (play_along_name(FULL), _elsewhere, (FULL,), ["play-along-160.kept.wav"]),
        (play_along_name(FULL), Path.unlink, (FULL,), []),
        ("lesson.html", _longer, (SLOW, FULL), ["lesson.kept.html"]),
        ("lesson.html", Path.unlink, (SLOW, FULL), []),
        ("sheet.pdf", _longer, (), ["sheet.kept.pdf"]),
    ],
)
def test_a_file_that_is_not_as_it_was_made_is_made_anew_and_what_is_hers_is_kept_and_named(
    folder, sounded, name, change: Callable[[Path], None], again, kept
):
    before = contents(folder)
    change(folder / name)
    hers = (folder / name).read_bytes() if (folder / name).exists() else b""
    written = revise_lesson(folder).written
    assert sorted(sounded) == sorted(lay_out(small(), rung).seconds for rung in again)
    after = contents(folder)
    assert {one: data for one, data in after.items() if ".kept" not in one} == before
    assert sorted(written.kept.values()) == kept
    assert all(after[one] == hers for one in written.kept.values())


def test_a_list_that_says_nothing_of_sounds_has_all_made_anew(folder, sounded):
    before = contents(folder)
    forget_sounds(folder)
    revise_lesson(folder)
    assert sorted(sounded) == sorted(seconds(small()))
    assert contents(folder) == before


def test_a_list_whose_names_lead_elsewhere_or_whose_page_has_other_sounds_gives_none(folder, tmp_path):
    key = sound_key(small(), FULL)
    path, name = folder / "made-files.json", play_along_name(FULL)
    listed = json.loads(path.read_bytes())
    assert KeptSounds(folder).take(key, tmp_path / "to.wav") is not None
    assert (tmp_path / "to.wav").read_bytes() == (folder / name).read_bytes()
    assert KeptSounds(folder).take("0" * 64, tmp_path / "no.wav") is None
    shutil.copyfile(folder / name, tmp_path / name)
    files = listed["files"]
    outside = {**listed, "files": {**{one: files[one] for one in files if one != name}, f"../{name}": files[name]}}
    fewer = {**files["lesson.html"], "sounds": files["lesson.html"]["sounds"][:1]}
    for wrong in (outside, {**listed, "files": {**files, "lesson.html": fewer}}):
        path.write_text(json.dumps(wrong), encoding="utf-8")
        assert KeptSounds(folder).take(key, tmp_path / "no.wav") is None


# ------------------------------------------------------------------------------------------- what a sound depends on


@pytest.mark.parametrize(
    ("tokens", "fields"),
    [
        pytest.param("2d:1 3d' 4b 5d:1", dict, id="a move"),
        pytest.param("3b:1 3d' 4b 4d:1", dict, id="another hole of the same pitch"),
        pytest.param("2d:1 3d'' 4b 4d:1", dict, id="a bend"),
        pytest.param("2d:1 3d' 4b:1 4d:1", dict, id="a length"),
        pytest.param("2d:1 3d' r:1/2 4b 4d:1", dict, id="a rest"),
        pytest.param("2d:1! 3d' 4b 4d:1", dict, id="an accent"),
        pytest.param("2d:1~ 3d' 4b 4d:1", dict, id="a vibrato"),
        pytest.param("2d:1^1 3d' 4b 4d:1", dict, id="an attack from below"),
        pytest.param(TOKENS, lambda: {"swing": Fraction(2)}, id="swing"),
        pytest.param(TOKENS, lambda: {"harp": make_harp("D")}, id="the key of the harp"),
        pytest.param(TOKENS, lambda: {"harp": make_harp("C", temperament="5-limit-first")}, id="temperament"),
        pytest.param(TOKENS, lambda: {"harp": make_harp("C", a4_hz=442.0)}, id="reference pitch"),
        pytest.param(TOKENS, lambda: {"harp": make_harp("C", stretch_cents=3.0)}, id="stretch"),
        pytest.param(TOKENS, lambda: {"metres": [Metre(Fraction(0), 3, 4)]}, id="what is counted in"),
    ],
)
def test_what_is_heard_changes_the_key(tokens, fields):
    assert sound_key(small(tokens, **fields()), FULL) != sound_key(small(), FULL)


BAND = Backing(rounds=1)


@pytest.mark.parametrize(
    ("play", "format", "title"),
    [
        pytest.param(PlayAlong(), "wav", "typed by hand", id="no band"),
        pytest.param(plain_replace(BAND, groove="soft"), "wav", "typed by hand", id="groove"),
        pytest.param(plain_replace(BAND, rounds=2), "wav", "typed by hand", id="rounds"),
        pytest.param(plain_replace(BAND, chords="piano"), "wav", "typed by hand", id="chords"),
        pytest.param(plain_replace(BAND, without=frozenset({"drums"})), "wav", "typed by hand", id="players"),
        pytest.param(plain_replace(BAND, click_through=True), "wav", "typed by hand", id="click"),
        pytest.param(plain_replace(BAND, count_in_bars=2), "wav", "typed by hand", id="count-in"),
        pytest.param(plain_replace(BAND, turns=Turns.YOURS), "wav", "typed by hand", id="who plays"),
        pytest.param(plain_replace(BAND, slap_accents=True), "wav", "typed by hand", id="slaps"),
        pytest.param(BAND, "flac", "typed by hand", id="the kind of file"),
        pytest.param(BAND, "wav", "Rain", id="the title in it"),
    ],
)
def test_what_is_wished_of_a_sound_to_practise_with_changes_its_key(monkeypatch, tmp_path, play, format, title):
    (tmp_path / "bank.sf2").write_bytes(b"a bank")
    monkeypatch.setattr("reedpath.sound.bank_path", lambda: tmp_path / "bank.sf2")
    lesson = small("2d:1! 3d' 4b 4d:2", metres=[Metre(Fraction(0), 4, 4)])
    key = practice_key(lesson, FULL, BAND, "wav")
    assert practice_key(replace(lesson, author="A. Teacher (invented)", notation="arrow"), FULL, BAND, "wav") == key
    assert practice_key(replace(lesson, title=title), FULL, play, format) != key


def test_another_bank_changes_the_key_of_a_band(monkeypatch, tmp_path):
    lesson, bank = small(metres=[Metre(Fraction(0), 4, 4)]), tmp_path / "bank.sf2"
    monkeypatch.setattr("reedpath.sound.bank_path", lambda: bank)
    keys = []
    for data in (b"a bank", b"another bank", b"a bank"):
        bank.write_bytes(data)
        keys.append(practice_key(lesson, FULL, BAND, "wav"))
        alone = practice_key(lesson, FULL, PlayAlong(), "wav")
        bank.unlink()
        assert practice_key(lesson, FULL, PlayAlong(), "wav") == alone
    assert keys[0] == keys[2] != keys[1]


def test_a_sound_to_practise_with_is_kept_where_it_is_wished_for_again(folder, monkeypatch):
    made: list[str] = []

    def counted(lesson: Lesson, wishes: PractiseWishes, rung: Rung, *, put: BytesPut, report: ShareReport) -> None:
        made.append(rung.name)
        sound_practice_rung(lesson, wishes, rung, put=put, report=report)

    monkeypatch.setattr("reedpath.jobs.practising.sound_practice_rung", counted)
    monkeypatch.setenv("REEDPATH_PROCESSES", "1")
    wishes = PractiseWishes(PlayAlong(click_through=True), rungs=("full",), format="flac")
    name, lesson = play_along_name(FULL, format="flac"), read_lesson(folder)
    make_practice_sounds(lesson, wishes, folder)
    before = contents(folder)
    assert len(made) == 1
    assert make_practice_sounds(lesson, wishes, folder).files == (name,)
    assert len(made) == 1
    assert contents(folder) == before
    _longer(folder / name)
    assert list(make_practice_sounds(lesson, wishes, folder).kept) == [name]
    assert len(made) == 2
    assert (folder / name).read_bytes() == before[name]
    make_practice_sounds(lesson, PractiseWishes(PlayAlong(), rungs=("full",), format="flac"), folder)
    assert len(made) == 3
    assert (folder / name).read_bytes() != before[name]


def test_a_tempo_changes_the_key_and_its_name_does_not():
    assert sound_key(small(), SLOW) != sound_key(small(), FULL)
    assert sound_key(small(), replace_name(FULL)) == sound_key(small(), FULL)


def replace_name(rung: Rung) -> Rung:
    return Rung("as it goes", rung.factor, rung.bpm)


def test_what_is_said_and_how_it_is_written_do_not_change_the_key():
    said = replace(
        small(), title="Rain", author="A. Teacher (invented)", notation="arrow", languages=("fr",), paper="letter"
    )
    phrase = replace(said.route.phrase, title="Rain")
    said = replace(said, route=replace(said.route, phrase=phrase, level="easy"), parts=())
    assert sound_key(said, FULL) == sound_key(small(), FULL)


def test_another_program_or_library_changes_the_key(monkeypatch):
    key, program = sound_key(small(), FULL), kept_sounds.sounding_program()
    assert program == kept_sounds.sounding_program.__wrapped__()
    monkeypatch.setattr("importlib.metadata.version", lambda name: "0.0.1")
    assert kept_sounds.sounding_program.__wrapped__() != program
    monkeypatch.setattr(kept_sounds, "sounding_program", lambda: "another")
    assert sound_key(small(), FULL) != key


@pytest.mark.parametrize("room", ["sound/voice.py", "sound/voice.toml", "sound/band/grooves.py", "signal/wav.py"])
def test_code_and_numbers_of_the_voice_and_the_files_are_in_the_key(monkeypatch, room):
    program = kept_sounds.sounding_program()
    plain = kept_sounds._sources
    seen: list[str] = []

    def edited(place, name):
        for one, data in plain(place, name):
            seen.append(one)
            yield one, data + b" " if one == room else data

    monkeypatch.setattr(kept_sounds, "_sources", edited)
    assert kept_sounds.sounding_program.__wrapped__() != program
    assert room in seen
