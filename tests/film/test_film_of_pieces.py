"""The film of several pieces: cards and pieces on one clock, what it says, and the file itself read back."""

from __future__ import annotations

import itertools
import tracemalloc
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.data import replace
from reedpath.errors import FilmError, SettingsError
from reedpath.film import (
    FilmCard,
    FilmStretch,
    FilmWishes,
    PiecesTimeline,
    SceneKind,
    encode_pieces_title_picture,
    film_lesson,
    film_pieces,
    format_srt,
    lay_out_film,
    lay_out_pieces,
    pieces_caption_cues,
    pieces_chapter_cues,
    pieces_film_text,
)
from reedpath.film.pieces_film import PiecesPainter
from reedpath.film.pieces_timeline import card_lines
from reedpath.film.screens import load_screen
from reedpath.lesson import Lesson, LessonOfPieces, Piece, Rung, VariantKind, single_lesson, whole_steps
from reedpath.sound import PlayAlong
from reedpath.wording import load_catalogue
from support.films import onsets_of, read_film
from support.pieces import doors, lesson_of_pieces, nothing, piece_lesson, porch, sixth
from support.webvtt_grammar import read_webvtt

ENGLISH, FRENCH = load_catalogue("en"), load_catalogue("fr")


def quick(tokens: str, title: str, *, key: str = "C") -> Lesson:
    """A lesson of one tempo, over in some seconds."""
    made = piece_lesson(tokens, title, key=key, bpm=160.0)
    return replace(made, ladder=(Rung("full", 1.0, 160.0),), drills=(), languages=("en",))


SHORT = LessonOfPieces(
    "Two in a row",
    (Piece("1", quick("2d:1 4b:1", "Down")), Piece("2", quick("6b:1 5d:1", "Up", key="D"))),
    play_through=(0, 1),
)
WITHOUT_STEPS = FilmWishes(with_steps=False, frames_per_second=10)
FULL_ALONE = FilmWishes(with_steps=False, frames_per_second=10, rungs=("full",), play=PlayAlong(count_in_bars=0))


def kinds(timeline: PiecesTimeline) -> list[tuple[str, int | None, int | None]]:
    return [("card" if isinstance(one, FilmCard) else "piece", one.piece, one.round) for one in timeline.stretches]


# ------------------------------------------------------------------------------------------------------ the timeline


def test_each_piece_has_a_card_and_all_are_played_in_a_row_at_the_end() -> None:
    assert kinds(lay_out_pieces(SHORT)) == [
        ("card", None, None),
        ("card", 0, None), ("piece", 0, None), ("card", 1, None), ("piece", 1, None),
        ("card", None, 0), ("piece", 0, 0), ("piece", 1, 0),
        ("card", None, 1), ("piece", 0, 1), ("piece", 1, 1),
        ("card", None, 2), ("piece", 0, 2), ("piece", 1, 2),
    ]  # fmt: skip


@pytest.mark.slow
def test_everything_follows_on_without_a_gap() -> None:
    timeline = lay_out_pieces(lesson_of_pieces())
    stretches = timeline.stretches
    assert stretches[0].start_seconds == 0
    assert all(one.end_seconds == after.start_seconds for one, after in itertools.pairwise(stretches))
    assert timeline.seconds == stretches[-1].end_seconds
    for one in stretches:
        middle = (one.start_seconds + one.end_seconds) / 2
        assert timeline.at(middle) is one
        if isinstance(one, FilmStretch):
            assert one.timeline.scenes[-1].end_seconds == one.end_seconds


def test_a_piece_is_filmed_as_its_lesson_is() -> None:
    lesson = lesson_of_pieces()
    for one in lay_out_pieces(lesson).stretches:
        if isinstance(one, FilmStretch) and one.round is None:
            alone = lay_out_film(lesson.pieces[one.piece].lesson)
            assert [scene.kind for scene in one.timeline.scenes] == [scene.kind for scene in alone.scenes]
            assert one.end_seconds - one.start_seconds == pytest.approx(alone.seconds)
            heard = [lit.event for scene in one.timeline.scenes for lit in scene.highlights]
            assert heard == [lit.event for scene in alone.scenes for lit in scene.highlights]


def test_the_rounds_get_faster_and_each_is_counted_in() -> None:
    timeline = lay_out_pieces(lesson_of_pieces())
    tempos: dict[int, list[float]] = {}
    for one in timeline.stretches:
        if isinstance(one, FilmStretch) and one.round is not None:
            (scene,) = one.timeline.scenes
            assert scene.kind is SceneKind.PLAY
            assert [count.number for count in scene.counts] == [1, 2, 3, 4]
            tempos.setdefault(one.piece, []).append(scene.bpm)
    assert tempos == {0: [70.0, 85.0, 100.0], 3: [59.0, 71.0, 84.0], 4: [50.0, 61.0, 72.0]}


def test_cards_stand_long_enough_to_be_read_in_every_language() -> None:
    lesson = lesson_of_pieces()
    card = lay_out_pieces(lesson).stretches[0]
    wordy = replace(lesson, notes={"en": "Short.", "fr": "Une longue phrase, que l'on lit plus longtemps. " * 2})
    assert lay_out_pieces(wordy).stretches[0].end_seconds > card.end_seconds
    assert lay_out_pieces(replace(lesson, notes={"fr": "bla " * 500})).stretches[0].end_seconds < 20


def test_tempos_that_a_piece_has_not_are_left_out_there() -> None:
    slow = replace(quick("2d:1", "Slow"), ladder=(Rung("slow", 0.5, 80.0), Rung("full", 1.0, 160.0)))
    lesson = replace(SHORT, pieces=(Piece("1", slow), SHORT.pieces[1]))
    timeline = lay_out_pieces(lesson, rungs=("slow",), with_steps=False)
    played = [one for one in timeline.stretches if isinstance(one, FilmStretch)]
    names = [scene.rung.name for one in played for scene in one.timeline.scenes if scene.rung is not None]
    assert names == ["slow", "full", "slow", "slow"]
    with pytest.raises(SettingsError, match="nearly"):
        lay_out_pieces(lesson, rungs=("nearly",))


def test_a_piece_of_nothing_has_its_card_alone() -> None:
    lesson = LessonOfPieces("Gap", (Piece("1", nothing()), Piece("2", sixth())), play_through=(0, 1))
    assert kinds(lay_out_pieces(lesson))[:4] == [
        ("card", None, None), ("card", 0, None), ("card", 1, None), ("piece", 1, None),
    ]  # fmt: skip
    with pytest.raises(FilmError):
        lay_out_pieces(LessonOfPieces("Nothing", (Piece("1", nothing()), Piece("2", nothing()))))


def test_a_level_at_which_nothing_is_played_otherwise_has_its_card_alone() -> None:
    easy = replace(porch(), route=replace(porch().route, level="easy"))
    lesson = LessonOfPieces("Same", (Piece("1", porch()), Piece("2", easy, 0, VariantKind.LEVEL)))
    timeline = lay_out_pieces(lesson)
    assert kinds(timeline) == [("card", None, None), ("card", 0, None), ("piece", 0, None), ("card", 1, None)]
    cues = pieces_caption_cues(lesson, timeline, ENGLISH)
    assert cues[-1].lines == ("Piece 1, easy: Porch steps", "At this level it is", "played just the same.")
    assert not any("way first" in line for cue in cues for line in cue.lines)


# --------------------------------------------------------------------------------------------------- what it says


def test_captions_are_in_order_without_overlap_and_tell_a_change_of_harp() -> None:
    lesson = lesson_of_pieces()
    timeline = lay_out_pieces(lesson)
    for words, harp in ((ENGLISH, "Take the D harp now."), (FRENCH, "harmonica en ré")):
        cues = pieces_caption_cues(lesson, timeline, words)
        assert all(one.end_seconds <= after.start_seconds + 1e-6 for one, after in itertools.pairwise(cues))
        assert cues[-1].end_seconds <= timeline.seconds + 1e-6
        card = next(one for one in timeline.stretches if isinstance(one, FilmCard) and one.piece == 3)
        said = " ".join(line for cue in cues if cue.start_seconds == card.start_seconds for line in cue.lines)
        assert harp in said.replace("\u2019", "'")
        assert format_srt(cues).count(" --> ") == len(cues)


def test_chapters_name_every_piece_and_cover_the_film() -> None:
    lesson = lesson_of_pieces()
    timeline = lay_out_pieces(lesson)
    chapters = pieces_chapter_cues(lesson, timeline, ENGLISH)
    assert chapters[0].start_seconds == 0
    assert chapters[-1].end_seconds == timeline.seconds
    assert all(one.end_seconds == after.start_seconds for one, after in itertools.pairwise(chapters))
    titles = [one.lines[0] for one in chapters]
    for title in ("Three corners", "Piece 3: Two doors", "Two doors, The phrase: full tempo · ♩ = 84",
                  "Porch steps (easy), First part (A): Step by step", "All in a row: a bit faster",
                  "Over the sixth, full tempo · ♩ = 72"):  # fmt: skip
        assert title in titles


def test_the_text_lists_pieces_and_chapters_as_lines_with_times() -> None:
    lesson = lesson_of_pieces()
    timeline = lay_out_pieces(lesson)
    lines = pieces_film_text(lesson, timeline, ENGLISH).splitlines()
    assert lines[:2] == ["Three corners", "A. Teacher (invented) · 27 November 2026"]
    assert "Piece 3: Two doors: D harp, Second position, G major, ♩ = 84, straight, Steady" in lines
    timed = [line.split(" ", 1) for line in lines if line[:1].isdigit() and ":" in line.split(" ")[0]]
    assert timed[0] == ["0:00", "Three corners"]
    seconds = [sum(int(part) * 60**place for place, part in enumerate(reversed(at.split(":")))) for at, _ in timed]
    assert all(after - one >= 10 for one, after in itertools.pairwise(seconds))
    tempos = ("slow", "a bit faster", "full tempo")
    assert [title for _, title in timed][-3:] == [f"All in a row: {tempo}" for tempo in tempos]
    assert "Take care" in lines


def test_the_card_of_a_round_says_what_is_said_of_that_round() -> None:
    lesson = lesson_of_pieces()
    blocks = whole_steps(lesson, ENGLISH)
    ending = next(one for one in blocks if one.place.block == "ending")
    told = [card_lines(FilmCard(0.0, 1.0, None, number), blocks) for number in range(3)]
    assert {heading for heading, _ in told} == {ending.title}
    assert [line for _, lines in told for line in lines] == [line.text for line in ending.lines]
    said = {line.about: line.text for line in ending.lines}
    assert [lines[0] for _, lines in told[1:]] == [said["row_faster"], said["row_full"]]
    assert told[0][1]


# ------------------------------------------------------------------------------------------------------- pictures


def _light(painter: PiecesPainter, seconds: float) -> np.ndarray:
    return painter.draw(seconds)[: load_screen("landscape").height].astype(np.int16)


@pytest.mark.slow
def test_a_moment_looks_the_same_however_one_comes_to_it() -> None:
    timeline = lay_out_pieces(SHORT)
    made = [PiecesPainter(SHORT, timeline, load_screen("landscape"), ENGLISH) for _ in range(2)]
    moments = [(one.start_seconds + one.end_seconds) / 2 for one in timeline.stretches]
    forwards = [_light(made[0], one) for one in moments]
    backwards = [_light(made[1], one) for one in reversed(moments)][::-1]
    assert all(np.array_equal(one, other) for one, other in zip(forwards, backwards, strict=True))
    assert all(not np.array_equal(one, after) for one, after in itertools.pairwise(forwards))


@pytest.mark.slow
@pytest.mark.parametrize("screen", ["landscape", "upright"])
@pytest.mark.parametrize("title", ["Two in a row", "word " * 60, "x" * 300, "漢字 😀", ""])
def test_no_title_breaks_a_card_or_the_title_picture(screen: str, title: str) -> None:
    lesson = replace(SHORT, title=title, notes={"en": "bla " * 120})
    timeline = lay_out_pieces(lesson)
    painter = PiecesPainter(lesson, timeline, load_screen(screen), ENGLISH)
    height = load_screen(screen).height
    light = painter.draw(0.5)[:height].astype(np.int16)
    ground = light[0, 0]
    assert (abs(light - ground) > 60).any()
    # nothing reaches the edges
    assert (abs(light[:4] - ground) < 12).all()
    assert (abs(light[-4:] - ground) < 12).all()
    assert (abs(light[:, -8:] - ground) < 12).all()
    assert encode_pieces_title_picture(lesson, ENGLISH, screen=screen).startswith(b"\x89PNG")


# ------------------------------------------------------------------------------------------------------- the file


@pytest.mark.slow
def test_the_file_has_the_chapters_and_sounds_when_it_shows(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    timeline = film_pieces(SHORT, path, WITHOUT_STEPS)
    expected = pieces_chapter_cues(SHORT, timeline, ENGLISH)
    with av.open(str(path)) as film:
        assert film.metadata["title"] == "Two in a row"
        chapters = film.chapters()
        assert [one["metadata"]["title"] for one in chapters] == [cue.lines[0] for cue in expected]
        for one, cue in zip(chapters, expected, strict=True):
            assert float(one["start"] * one["time_base"]) == pytest.approx(cue.start_seconds, abs=0.002)
    read = read_film(path)
    assert read.times[-1] == pytest.approx(timeline.seconds, abs=0.2)
    assert len(read.sound) / read.rate == pytest.approx(timeline.seconds, abs=0.2)
    rounds = [one for one in timeline.stretches if isinstance(one, FilmStretch)]
    starts = [one.timeline.scenes[0].highlights[0].start_seconds for one in rounds]
    heard = onsets_of(read.sound, read.rate, starts, lead=0.1)
    assert np.abs(np.array(heard) - starts).max() < 0.05
    card = next(one for one in timeline.stretches if isinstance(one, FilmCard) and one.round == 1)
    quiet = read.sound[round((card.start_seconds + 0.6) * read.rate) : round((card.end_seconds - 0.1) * read.rate)]
    assert np.abs(quiet).max() < 1e-3


@pytest.mark.slow
def test_one_piece_alone_is_filmed_as_its_lesson(tmp_path: Path) -> None:
    lesson = replace(SHORT, pieces=SHORT.pieces[:1], play_through=())
    only = single_lesson(lesson)
    assert only is not None
    timeline = film_pieces(lesson, tmp_path / "pieces.mp4", WITHOUT_STEPS)
    film_lesson(only, tmp_path / "lesson.mp4", WITHOUT_STEPS)
    assert kinds(timeline) == [("piece", 0, None)]
    pieces, alone = read_film(tmp_path / "pieces.mp4"), read_film(tmp_path / "lesson.mp4")
    assert np.array_equal(pieces.lights, alone.lights)
    assert np.array_equal(pieces.sound, alone.sound)


@pytest.mark.slow
def test_memory_does_not_grow_with_the_number_of_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reedpath.film.encode._DRAWN", (30, "ultrafast"))  # it is Python's memory that is looked at

    def filmed(count: int) -> None:
        pieces = tuple(Piece(str(number), SHORT.pieces[number % 2].lesson) for number in range(count))
        lesson = replace(SHORT, pieces=pieces, play_through=tuple(range(count)))
        film_pieces(lesson, tmp_path / "film.mp4", FULL_ALONE)

    def most(count: int) -> int:
        tracemalloc.start()
        filmed(count)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    filmed(2)  # what is loaded once and kept is no part of it
    assert most(8) < 1.25 * most(2)


@pytest.mark.slow
def test_a_broken_off_film_leaves_no_file(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"

    def stop(done: int, total: int) -> None:
        if done > 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        film_pieces(SHORT, path, WITHOUT_STEPS, progress=stop)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(FilmError):
        film_pieces(SHORT, path, FilmWishes(frames_per_second=1))


@pytest.mark.slow
def test_the_folder_of_a_film_has_words_in_every_language(tmp_path: Path) -> None:
    from reedpath.jobs import make_film

    short = [replace(one, ladder=one.ladder[-1:], drills=()) for one in (porch(), doors())]
    lesson = LessonOfPieces("Two doors more", (Piece("1", short[0]), Piece("2", short[1])), play_through=())
    make_film(lesson, FilmWishes(with_steps=False, frames_per_second=10), tmp_path / "film.mp4")
    names = {one.name for one in tmp_path.iterdir() if one.is_file()}
    assert {"film.mp4", "film.png"} <= names
    for language in ("en", "fr"):
        assert {f"film.{language}.{kind}" for kind in ("vtt", "srt", "chapters.vtt", "txt")} <= names
        for kind in ("vtt", "chapters.vtt"):
            read_webvtt((tmp_path / f"film.{language}.{kind}").read_bytes(), chapters=kind != "vtt")
    assert "Morceau 2" in (tmp_path / "film.fr.chapters.vtt").read_text(encoding="utf-8")
