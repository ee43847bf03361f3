"""A teacher's raw footage of two cameras: a cut is proposed, its list is edited, and the film is made by it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.data import replace
from reedpath.errors import FilmError
from reedpath.film import CutKind, CutOrder, CutWhy, FilmCut, decode_cut, encode_timeline, film_facts
from reedpath.jobs import CutProposal, line_up_take, propose_cut, write_proposal
from reedpath.lesson import encode_lesson
from support.footage_shots import JudgedCut, SecondCamera, Shot, judged_cut
from support.glued_takes import Kind
from support.pieces import porch
from support.raw_footage import (
    Knocked,
    Noodled,
    Said,
    Still,
    Tried,
    needs_speech,
    raw_scene,
)
from support.teacher_films import FilmMade, quiet, talk, write_film

pytestmark = pytest.mark.story

LESSON = porch()
FPS = 20
SMALL = FilmMade(size=(320, 180), fps=FPS)
STARTS = 2.5
SECOND = SecondCamera(starts=STARTS, drift_ppm=140.0, seed=5, gain_db=-8.0)
# the second part first, since she thought of it first; what stays, by its place
DOINGS = (
    Still(1.0), Said("Hello. This is the phrase."), Still(0.8),
    Said("The second part."), Still(0.6),
    Tried(8, 14, 2, (Kind.MISSING,)), Still(0.7), Said("Sorry, once more."), Still(0.6),
    Tried(8, 14, 2), Still(1.2), Noodled(5), Still(1.0), Knocked(), Still(1.9),
    Said("Now the first part, slowly."), Still(0.7),
    Tried(0, 7, 2, stops=3), Still(0.8),
    Tried(0, 7, 2), Still(1.0), Said("See you next week."), Still(1.2),
)  # fmt: skip
GOOD = {"A": 19, "B": 9}
SAID = (1, 3, 15, 21)


@dataclass(frozen=True)
class Footage:
    shot: Shot
    films: tuple[Path, ...]
    proposed: CutProposal

    @property
    def cut(self) -> FilmCut:
        return self.proposed.cut

    @property
    def judged(self) -> JudgedCut:
        return judged_cut(self.shot, self.cut)


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Footage:
    needs_speech()
    folder = tmp_path_factory.mktemp("footage")
    scene = raw_scene(LESSON, DOINGS, seed=3, recorded=False)
    shot = Shot(LESSON, scene, tuple(GOOD.values()), SAID, SECOND)
    films = shot.films(folder, SMALL)
    return Footage(shot, films, propose_cut(LESSON, films, order=CutOrder.TAUGHT))


def test_the_best_of_each_part_stays_in_the_order_of_the_lesson(footage: Footage) -> None:
    played = [piece for piece in footage.cut.pieces if piece.kind is CutKind.PLAY and piece.keep]
    assert [(piece.part, piece.tempo) for piece in played] == [("A", "full"), ("B", "full")]
    assert footage.judged.takes == [True, True]
    assert footage.judged.others == [True, True]
    gone = [piece.why for piece in footage.cut.pieces if piece.kind is CutKind.PLAY and not piece.keep]
    assert sorted(gone) == [CutWhy.ANOTHER, CutWhy.FALSE_START]


def test_talk_before_each_part_stays_and_what_is_said_between_tries_goes(footage: Footage) -> None:
    kept = [piece for piece in footage.cut.pieces if piece.kind is CutKind.TALK and piece.keep]
    for number in SAID:
        start, end = footage.shot.scene.done[number].start, footage.shot.scene.done[number].end
        assert sum(piece.start_seconds <= start and end <= piece.end_seconds for piece in kept) == 1
    assert all(footage.judged.talk)
    assert all(footage.judged.laments)
    between = [piece for piece in footage.cut.pieces if piece.why is CutWhy.BETWEEN]
    assert len(between) == 1
    # the greeting opens the film although the second part was filmed first
    shown = footage.cut.kept
    assert shown[0].start_seconds < footage.shot.scene.done[1].start
    assert shown[-1].end_seconds > footage.shot.scene.done[21].end


def test_nothing_is_cut_inside_a_note_or_a_word(footage: Footage) -> None:
    edges = footage.judged.edges
    assert footage.judged.inside == []
    assert all(at * FPS == pytest.approx(round(at * FPS), abs=0.01) for at in edges)


def test_two_cameras_are_lined_up_within_a_picture_over_the_whole_length(footage: Footage) -> None:
    (clock,) = footage.cut.clocks
    assert (clock.film, clock.other) == (1, 0)
    assert SECOND.clock_off(footage.cut) <= 0.005
    # the first shows who talks, the second who plays; all that is heard is of one
    assert {(piece.film, piece.shown) for piece in footage.cut.kept} == {(0, 0), (0, 1)}
    assert all(piece.shown == 1 for piece in footage.cut.kept if piece.kind is CutKind.PLAY)


def test_the_cut_is_a_timeline_for_programs_that_edit_films(footage: Footage) -> None:
    otio = pytest.importorskip("opentimelineio")
    rates = [film_facts(film).frame_rate for film in footage.films]
    data = encode_timeline(footage.cut, footage.films, rates, title=LESSON.title)
    timeline = otio.adapters.read_from_string(data.decode(), "otio_json")
    assert timeline.name == LESSON.title
    assert timeline.duration().to_seconds() == pytest.approx(footage.cut.seconds, abs=0.2)
    pictures, sound = (list(track) for track in timeline.tracks)
    shown = [piece for piece in footage.cut.pieces if piece.keep]
    assert len(pictures) == len(sound) == len(shown)
    for piece, seen, heard in zip(shown, pictures, sound, strict=True):
        assert heard.source_range.start_time.to_seconds() == pytest.approx(piece.start_seconds, abs=1e-3)
        assert seen.media_reference.target_url == footage.films[piece.shown].resolve().as_uri()
        offset = STARTS if piece.shown else 0.0
        assert seen.source_range.start_time.to_seconds() == pytest.approx(piece.start_seconds - offset, abs=1 / FPS)


def test_without_the_library_the_list_is_written_alone(footage: Footage, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "opentimelineio", None)
    rates = [film_facts(film).frame_rate for film in footage.films]
    with pytest.raises(FilmError) as told:
        encode_timeline(footage.cut, footage.films, rates, title="x")
    assert told.value.key == "film.no_timeline_library"
    assert write_proposal(footage.cut, footage.films, tmp_path / "out.mp4", title="x") == ("out.cut.json",)


def _picture_numbers(path: Path) -> list[tuple[float, int]]:
    """Times of a film's pictures, and where the bright bar of `support.teacher_films` stands in each."""
    with av.open(str(path)) as film:
        found = []
        for one in film.decode(video=0):
            row = one.to_ndarray(format="gray")[4:20].astype(float).mean(axis=0)
            found.append((one.time, int(np.argmax(np.convolve(row, np.ones(20), mode="valid")))))
    return found


def test_the_film_is_made_by_the_list_that_she_edited(footage: Footage, tmp_path: Path, run, monkeypatch) -> None:
    """Part B alone, in two halves of which the second comes first, and its picture is of the first camera."""
    lesson = tmp_path / "lesson"
    lesson.mkdir()
    (lesson / "lesson.json").write_bytes(encode_lesson(LESSON))
    out = tmp_path / "film" / "taught.mp4"
    words = ("film", lesson, "--from", *footage.films, "--out", out, "--language", "en")
    status, printed, _ = run(*words)
    assert status == 0
    assert "Part B, full tempo: the best of 2, 100% right." in printed
    assert "two.mp4 was filmed together with one.mp4" in printed
    assert "The sound is that of one.mp4." in printed
    listed = out.with_name("taught.cut.json")
    cut = decode_cut(listed.read_bytes())
    assert "taught.heard.json" in printed
    # what was heard is kept: from here on nothing listens to the footage again
    monkeypatch.setattr("reedpath.jobs.cutting.hear_films", None)
    assert run(*words)[0] == 2  # what she may have edited is not written over
    status, _, told = run(*words, "--cut-as", tmp_path / "no.json")
    assert status == 2
    assert "no.json" in told
    best = next(piece for piece in cut.pieces if piece.keep and piece.part == "B")
    middle = best.start_seconds + 3.0
    halves = [
        replace(best, start_seconds=middle, seen=None),
        replace(best, end_seconds=middle),
    ]
    said = json.loads(listed.read_bytes())
    plain = next(one for one in said["pieces"] if one.get("part") == "B" and one["keep"])
    said["pieces"] = [
        {**{key: value for key, value in plain.items() if key != "seen"}, "start_seconds": middle},
        {**plain, "end_seconds": middle},
    ]
    mine = json.dumps(said)
    listed.write_text(mine)
    status, printed, _ = run(*words, "--render")
    assert status == 0
    assert "Cut as" in printed
    assert listed.read_text() == mine
    pictures = _picture_numbers(out)
    lengths = [round(half.seconds * FPS) for half in halves]
    assert len(pictures) == pytest.approx(sum(lengths), abs=1)
    # the bar tells which picture of which film is shown: each at its time, within one picture
    second = halves[1].start_seconds - STARTS
    for place, start, count in ((0, middle, lengths[0]), (lengths[0], second, lengths[1])):
        for number in range(0, count - 1, 7):
            time, bar = pictures[place + number]
            due = (start + time - place / FPS) * FPS
            assert _near(bar, 4 * due, 300)
    heard = line_up_take(out, LESSON).play_throughs
    assert heard
    with av.open(str(out)) as film:
        assert film.chapters()
        assert film.duration / 1e6 == pytest.approx(best.seconds, abs=0.1)


def _near(bar: int, due: float, width: int) -> bool:
    """Whether a bar that goes round is where it is due, within a picture."""
    off = (bar - due) % width
    return min(off, width - off) <= 5


def test_footage_in_which_nothing_of_the_lesson_is_played_is_told(tmp_path: Path) -> None:
    write_film(tmp_path / "talk.mp4", np.concatenate([quiet(0.5), talk(1.5, 1), quiet(0.5)]), SMALL)
    with pytest.raises(FilmError) as told:
        propose_cut(LESSON, [tmp_path / "talk.mp4"], order=CutOrder.TAUGHT)
    assert told.value.key == "film.no_play_through"
    assert told.value.where.file.endswith("talk.mp4")


def test_what_does_not_go_together_is_told(tmp_path: Path, run) -> None:
    film = ("film", tmp_path, "--out", tmp_path / "a.mp4")
    for words, why in (
        (("b.mp4",), "several films are given with --from"),
        (("--render",), "name the footage with --from"),
        (("--from", "b.mp4", "--over", "c.mp4"), "leave out --over"),
    ):
        status, _, told = run(*film, *words, "--language", "en")
        assert status == 2
        assert why in told
