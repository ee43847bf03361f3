"""What words after options mean when they are typed."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click
import pytest

from reedpath.cli import printing
from reedpath.cli.commands import app
from reedpath.cli.making import lesson_wishes, take_wishes
from reedpath.cli.reading import (
    OF_THE_BAND,
    bars_of,
    choices_of,
    keys_of,
    practise_wishes,
    seconds_of,
    share_of,
    source_of,
    span_of,
    tunings_of,
)
from reedpath.errors import ReadError, SettingsError
from reedpath.film import FilmWishes, TakeWishes
from reedpath.jobs import known_tunings
from reedpath.pitch import parse_key
from reedpath.sound import Backing, PlayAlong, Turns


@pytest.mark.parametrize(
    ("text", "seconds"), [("12.5", 12.5), ("1:02.5", 62.5), ("1:10:00", 4200.0), ("0", 0.0), ("2:03,25", 123.25)]
)
def test_times(text: str, seconds: float) -> None:
    assert seconds_of(text) == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["", "noon", "-3", "1:2:3:4", "nan", "1e9"])
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(SettingsError, match="is not a time"):
        seconds_of(text)


@pytest.mark.parametrize(("text", "share"), [("0.5", 0.5), ("50%", 0.5), ("1/3", 1 / 3), ("0,75", 0.75), ("1", 1.0)])
def test_shares(text: str, share: float) -> None:
    assert share_of(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["", "half", "-1", "1/0", "1/2/3", "50%%", "inf"])
def test_what_is_no_share(text: str) -> None:
    with pytest.raises(SettingsError, match="is not a share"):
        share_of(text)


def test_a_part_of_a_recording_ends_where_said_or_with_it() -> None:
    assert span_of("2", None) == (2.0, None)
    assert span_of("2", "0:03") == (2.0, 3.0)


@pytest.mark.parametrize(
    ("text", "bars"), [(None, None), ("5", (5, 5)), ("5-8", (5, 8)), (" 5 – 8 ", (5, 8)), ("8-8", (8, 8))]
)
def test_bars(text: str | None, bars: tuple[int, int] | None) -> None:
    assert bars_of(text) == bars


def test_choices_within_a_source() -> None:
    assert choices_of(None) == {}
    assert choices_of(["part = 2", "voice=Flute 1"]) == {"part": 2, "voice": "Flute 1"}
    for text in ("part", "=2", "\t=2", "part="):
        with pytest.raises(SettingsError, match=f"--choose '{text.strip()}' chooses nothing"):
            choices_of([text])


def test_names_in_a_row() -> None:
    assert keys_of(None, option="--tempos") == ()
    assert keys_of("slow, full,", option="--tempos") == ("slow", "full")
    with pytest.raises(SettingsError, match="--tempos ',' names nothing"):
        keys_of(",", option="--tempos")
    assert tunings_of(()) == ("standard",)
    assert tunings_of(("country", "standard", "country")) == ("country", "standard")
    assert tunings_of(("standard", "all")) == known_tunings()


TUNE = "X:1\nT:First (invented)\nL:1/4\nK:C\nCDEF|G4|\nX:2\nT:Second (invented)\nL:1/4\nK:C\n[CE]DEF|GABc|]\n"


def test_what_is_asked_of_a_source_reaches_its_reader(tmp_path: Path) -> None:
    (tmp_path / "two.abc").write_text(TUNE, encoding="utf-8")
    asked = {"format": "abc", "choose": ["tune=2"], "bars": "1", "music_key": "Am", "tempo": 72.0}
    phrase = source_of(tmp_path / "two.abc", lead=True, **asked).phrase
    assert phrase.title == "Second (invented)"
    assert [event.midi for event in phrase.events] == [(64,), (62,), (64,), (65,)]
    assert phrase.key == parse_key("Am")
    assert phrase.tempos[0].bpm == 72.0
    asked |= {"choose": None, "bars": None, "music_key": None, "tempo": None, "format": None}
    first = source_of(tmp_path / "two.abc", lead=False, **asked).phrase
    assert first.events[-1].end == Fraction(8)
    assert first.key == parse_key("C")
    with pytest.raises(ReadError, match="there is no reader named 'tuba'"):
        source_of(tmp_path / "two.abc", lead=False, **(asked | {"format": "tuba"}))


# what the options of what is heard say when nothing is typed
UNSAID = {
    "band": False, "form": "auto", "groove": "auto", "rounds": 2, "chords": "guitar", "without": None,
    "bank": None, "turns": "together", "count_in": 1, "click": False, "muted": False, "slaps": False, "tempos": None,
    "at_bar": None, "intro": 0, "seed": Backing().seed, "loose": 1.0,
}  # fmt: skip


def test_what_is_heard_alone() -> None:
    wishes = practise_wishes(**UNSAID)
    assert wishes.play == PlayAlong()
    assert wishes.rungs == ()
    said = {"count_in": 2, "click": True, "muted": True, "slaps": True, "tempos": "slow,full"}
    wishes = practise_wishes(**(UNSAID | said))
    assert wishes.play == PlayAlong(count_in_bars=2, click_through=True, turns=Turns.YOURS, slap_accents=True)
    assert wishes.rungs == ("slow", "full")


def test_what_is_heard_with_the_band() -> None:
    said = {
        "form": "twelve-bar", "groove": "shuffle", "rounds": 3, "chords": "piano", "without": "drums, bass",
        "bank": Path("mine.sf2"), "at_bar": "5,turnaround", "intro": 2, "seed": 7, "loose": 0.5,
    }  # fmt: skip
    wishes = practise_wishes(**(UNSAID | said | {"band": True, "turns": "call", "count_in": 2}))
    assert wishes.play == Backing(
        count_in_bars=2, turns=Turns.CALL, form="twelve-bar", groove="shuffle", rounds=3, chords="piano",
        without=frozenset({"drums", "bass"}), bank=Path("mine.sf2"), intro=2, seed=7, looseness=0.5,
        at_bars=(5,), as_turnaround=True,
    )  # fmt: skip
    assert practise_wishes(**(UNSAID | {"band": True})).play == Backing()
    assert practise_wishes(**(UNSAID | OF_THE_BAND | {"band": True})).play == Backing()
    for name, value in said.items():
        with pytest.raises(SettingsError, match=f"--{name.replace('_', '-')} is for the band"):
            practise_wishes(**(UNSAID | {name: value}))
    with pytest.raises(SettingsError, match="'mine'"):
        practise_wishes(**(UNSAID | {"turns": "mine"}))


def test_what_is_usual_of_the_band_is_usual_of_its_options():
    command = app.commands["play-along"]
    with click.Context(command) as context:
        usual = {one.name: one.get_default(context) for one in command.params}
    assert {name: usual[name] for name, value in OF_THE_BAND.items() if value is not None} == {
        name: value for name, value in OF_THE_BAND.items() if value is not None
    }


LOOKS = {"screen": "upright", "palette": "ink", "language": "fr"}


def test_what_is_asked_of_a_film() -> None:
    heard = practise_wishes(**(UNSAID | {"tempos": "slow,full", "click": True}))
    wishes = lesson_wishes(heard, steps=False, **LOOKS)
    assert wishes == FilmWishes("upright", "ink", "fr", ("slow", "full"), with_steps=False, play=heard.play)
    assert lesson_wishes(heard, steps=True, **(LOOKS | {"language": None})).language == ""
    with pytest.raises(SettingsError, match="call"):
        lesson_wishes(practise_wishes(**(UNSAID | {"turns": "call"})), steps=True, **LOOKS)
    with_band = practise_wishes(**(UNSAID | {"turns": "call", "band": True}))
    assert lesson_wishes(with_band, steps=True, **LOOKS).play == with_band.play


def test_what_is_asked_of_a_teachers_own_film() -> None:
    assert take_wishes(practise_wishes(**UNSAID), "beside", **LOOKS) == TakeWishes("beside", "upright", "ink", "fr")
    assert take_wishes(practise_wishes(**UNSAID), "over", **(LOOKS | {"language": None})).language == ""
    for said, told in (({"click": True}, "its own sound"), ({"tempos": "slow"}, "tempo")):
        with pytest.raises(SettingsError, match=told):
            take_wishes(practise_wishes(**(UNSAID | said)), "over", **LOOKS)


def test_words_are_english_where_neither_the_language_asked_for_nor_the_systems_holds(monkeypatch) -> None:
    def broken(_: str | None) -> None:
        raise SettingsError("cli.no_names", option="--language", text="xx")

    monkeypatch.setattr(printing, "catalogue_for", broken)
    assert printing.catalogue_of_words(["--language", "xx"]).name == "en"
