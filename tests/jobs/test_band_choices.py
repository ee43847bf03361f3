"""What is chosen of the band in the studio, and what the command line makes of the same options."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from reedpath.cli.reading import practise_wishes
from reedpath.errors import ReedpathError
from reedpath.jobs import PractiseWishes, make_practice_sounds, proposal_beside
from reedpath.jobs.band_choices import (
    BandChoice,
    PlaceWish,
    backing_of,
    check_band,
    decode_band,
    encode_band,
    said_places,
)
from reedpath.jobs.band_sounds import make_band_sounds
from reedpath.lesson import Lesson, encode_lesson
from reedpath.sound import Backing, Turns
from reedpath.wording import load_catalogue
from support.pieces import porch

SAID = {
    "form": "auto", "groove": "auto", "rounds": 2, "turns": "together", "chords": "guitar", "without": None,
    "bank": None, "at_bar": None, "intro": 0, "seed": 2, "loose": 1.0, "count_in": 1, "click": False, "muted": False,
    "slaps": False, "tempos": None,
}  # fmt: skip


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    whole = porch()
    return replace(whole, ladder=whole.ladder[-1:])  # what is sounded is the same at each tempo


@pytest.mark.parametrize(
    ("choice", "options"),
    [
        (BandChoice(), {}),
        (
            BandChoice(groove="boogie", seed=7, looseness=0.5, intro=4),
            {"groove": "boogie", "seed": 7, "loose": 0.5, "intro": 4},
        ),
        (
            BandChoice(form="quick-change", turns=Turns.CALL, rounds=3),
            {"form": "quick-change", "turns": "call", "rounds": 3},
        ),
        (BandChoice(place=PlaceWish.OWN, at_bars=(1, 5), as_turnaround=True), {"at_bar": "1,5,turnaround"}),
        # what is said of bars counts only where they are chosen
        (BandChoice(at_bars=(1, 5)), {}),
    ],
)  # fmt: skip
def test_a_choice_is_what_the_command_line_makes_of_the_same_options(lesson: Lesson, choice, options) -> None:
    assert backing_of(choice, lesson.route) == practise_wishes(band=True, **(SAID | options)).play


def test_the_best_place_is_the_one_that_the_command_proposes(lesson: Lesson) -> None:
    proposed = proposal_beside(lesson, Backing())
    assert proposed is not None
    backing = backing_of(BandChoice(place=PlaceWish.BEST), lesson.route)
    assert (backing.form, backing.at_bars) == (proposed.form.name, tuple(one.bar for one in proposed.places))


def test_the_best_place_is_looked_for_in_the_form_that_is_chosen(lesson: Lesson) -> None:
    backing = backing_of(BandChoice(place=PlaceWish.BEST, form="eight-bar"), lesson.route)
    assert backing.form == "eight-bar"
    assert all(1 <= bar <= 8 for bar in backing.at_bars)


def test_where_it_stands_is_said_for_each_place(lesson: Lesson) -> None:
    choice = BandChoice(form="twelve-bar", place=PlaceWish.OWN, at_bars=(1, 5))
    for language in ("en", "fr"):
        said = said_places(choice, lesson.route, load_catalogue(language))
        assert len(said.here) == 2
        assert all(bars and rating and why for bars, rating, why in said.here)
        assert said.best
        assert said.best_why


def test_a_choice_is_kept_as_it_is() -> None:
    choice = BandChoice(groove="rumba", place=PlaceWish.OWN, at_bars=(5,), seed=11, turns=Turns.CALL)
    assert decode_band(encode_band(choice)) == choice
    assert decode_band("") == BandChoice()


@pytest.mark.parametrize(
    ("choice", "key"),
    [
        (BandChoice(seed=10**7), "sound.seed"),
        (BandChoice(looseness=3.0), "sound.looseness"),
        (BandChoice(intro=99), "sound.intro"),
        (BandChoice(groove="none"), "sound.unknown_groove"),
        (BandChoice(form="none"), "harmony.unknown_form"),
        (BandChoice(place=PlaceWish.OWN), "jobs.no_bars_of_form"),
    ],
)
def test_what_no_band_can_play_is_refused_before_any_work(choice: BandChoice, key: str) -> None:
    with pytest.raises(ReedpathError) as raised:
        check_band(choice)
    assert raised.value.key == key


def _all_in(folder: Path) -> dict[str, bytes]:
    return {one.name: one.read_bytes() for one in folder.iterdir()}


@pytest.mark.slow
def test_play_alongs_are_those_of_the_command_to_the_byte(lesson: Lesson, tmp_path: Path) -> None:
    ours, theirs = tmp_path / "ours", tmp_path / "theirs"
    for folder in (ours, theirs):
        folder.mkdir()
        (folder / "lesson.json").write_bytes(encode_lesson(lesson))
    choice = BandChoice(form="one-chord", rounds=1, seed=5)
    names = make_band_sounds(ours, choice, "flac")
    wishes = practise_wishes(band=True, **(SAID | {"form": "one-chord", "rounds": 1, "seed": 5}))
    made = make_practice_sounds(lesson, PractiseWishes(wishes.play, format="flac"), theirs, replace=True)
    assert names == made.files
    assert _all_in(ours) == _all_in(theirs)
