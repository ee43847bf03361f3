"""What is said of where a phrase sits: the bars asked for, what a play-along proposes, and which version is taken."""

from __future__ import annotations

from fractions import Fraction

import pytest

from reedpath.cli.form_places import proposal_as_data, proposal_lines, proposal_of_pieces_lines
from reedpath.cli.reading import places_of
from reedpath.errors import SettingsError
from reedpath.harmony import FourVersion, load_form, placed
from reedpath.jobs import FourState, HarpChoice, ReadPhrase, RouteRequest, for_the_four, places_in_forms
from reedpath.lesson import Lesson
from reedpath.pitch import Key
from reedpath.sound import Backing
from reedpath.wording import load_catalogue, place_bars_words, place_reason
from support.built_routes import built_lesson, built_route
from support.phrases import phrase_of
from support.pieces import lesson_of_pieces

LICK = "2d 3d' 4b 4d' 4d:1 r:1 5d 4d 4b 3d' 2d:1 r:1"


E_MAJOR = Key(4)


def lesson(text: str = LICK, key: Key | None = E_MAJOR) -> Lesson:
    route = built_route(text, key="A", bpm=96.0, swing=Fraction(2), music_key=key)
    return built_lesson(route, factors=(1.0,))


@pytest.mark.parametrize(
    ("text", "bars", "turnaround"),
    [
        (None, (), False),
        ("5", (5,), False),
        ("9, 1,5,5", (1, 5, 9), False),
        ("turnaround", (), True),
        ("1,Turnaround", (1,), True),
    ],
)
def test_bars_of_a_form_are_read(text: str | None, bars: tuple[int, ...], turnaround: bool) -> None:
    assert places_of(text) == (bars, turnaround)


@pytest.mark.parametrize("text", ["x", "1-4", "1,x", "-1", "1.5", ","])
def test_what_is_no_bar_of_a_form_is_told(text: str) -> None:
    with pytest.raises(SettingsError):
        places_of(text)


def test_a_play_along_says_where_the_phrase_would_sit_best_and_what_to_type() -> None:
    (line,) = proposal_lines(lesson(), Backing(), load_catalogue("en"))
    assert line.startswith("It would sit best in twelve-bar blues, bars 1")
    assert "(--form twelve-bar --at-bar 1" in line
    assert line.endswith("Rests on the root of the I chord in bar 2; D on beat 1 is the seventh of the I chord.")
    data = proposal_as_data(lesson(), Backing())
    assert data is not None
    assert (data["form"], data["places"][0]["bar"], data["places"][0]["rating"]) == ("twelve-bar", 1, "good")


@pytest.mark.parametrize(
    ("backing", "told"), [(Backing(at_bars=(1,)), "bars 1 to 2"), (Backing(as_turnaround=True), "bars 11 to 12")]
)
def test_where_the_person_has_said_so_it_tells_how_it_sits_there_and_proposes_nothing(
    backing: Backing, told: str
) -> None:
    (line,) = proposal_lines(lesson(), backing, load_catalogue("en"))
    assert told in line
    assert "--at-bar" not in line
    data = proposal_as_data(lesson(), backing)
    assert data is not None
    assert [*data] == ["asked"]


def test_it_proposes_nothing_without_a_key_or_where_the_phrase_stands_there() -> None:
    assert proposal_as_data(lesson(key=None), Backing(key=None)) is None or lesson().route.position is not None
    whole = lesson(" ".join(["2d:4"] * 4 + ["4b:4"] * 2 + ["2d:4"] * 2 + ["4d:4", "4b:4", "2d:4", "4d:4"]))
    assert proposal_as_data(whole, Backing(form="twelve-bar")) is None


def test_reasons_are_sentences_in_every_language() -> None:
    phrase, form = phrase_of("b4 1/8 d5 e5 d5 b4 1/2", key="G"), load_form("twelve-bar")
    told = {}
    for language in ("en", "fr", "de", "es", "it"):
        place = placed(phrase, form, Key(7), 5)
        told[language] = place_reason(place, Key(7), load_catalogue(language))
    assert told["en"] == "Comes to rest on B in bar 5, which rubs against the seventh of the IV chord."
    assert told["de"] == "Endet in Takt 5 auf H und reibt sich dort an der Septime des IV-Akkords."
    assert told["fr"] == "S’arrête mesure 5 sur si, qui frotte contre la septième de l’accord IV."
    assert told["es"] == "Se detiene en el compás 5 en si, que choca con la séptima del acorde IV."
    assert told["it"] == "Si ferma nella battuta 5 su si, che stride con la settima dell’accordo IV."


def test_bars_are_told_with_the_turnaround() -> None:
    phrase, form = phrase_of("g4 1/1 | d5 1/1", key="G"), load_form("twelve-bar")
    catalogue = load_catalogue("en")
    told = [place_bars_words(placed(phrase, form, Key(7), bar), catalogue) for bar in (5, 11)]
    assert told == ["bars 5 to 6", "bars 11 to 12, as a turnaround"]


def test_forms_of_the_keys_mode_come_first_and_one_chord_last_of_them() -> None:
    names = [one.form.name for one in places_in_forms(phrase_of("g4 1/4 b4 d5 g4", key="G"))]
    assert set(names[:3]) == {"twelve-bar", "quick-change", "eight-bar"}
    assert names[3:] == ["one-chord", "minor-twelve-bar"]


def test_the_easiest_version_that_keeps_the_music_is_taken() -> None:
    read = ReadPhrase(phrase_of("g4 1/8 b4 d5 e5 d5 b4 g4 b4 | b4 1/2", key="G"), None)
    four = for_the_four(read, RouteRequest(HarpChoice("C")))
    assert four.state is FourState.VERSION
    assert four.version is FourVersion.FOURTH_UP
    assert four.own is not None
    assert four.route is not None
    assert four.route.harp == four.own.harp
    assert four.route.phrase.key == Key(7)
    assert [one.event.midi for one in four.route.events][:4] == [(72,), (76,), (79,), (81,)]
    assert {one.version for one in four.others} <= {FourVersion.FIFTH_DOWN, FourVersion.THIRD_LOWERED}


def test_nothing_is_arranged_where_there_is_no_version() -> None:
    for text, state in (("g4 1/4 bb4 c5 g4", FourState.FITS), ("g4 1/1 b4 b4 b4", FourState.LONG)):
        four = for_the_four(ReadPhrase(phrase_of(text, key="G"), None), RouteRequest())
        assert (four.state, four.own, four.route, four.version) == (state, None, None, None)


def test_of_several_pieces_each_is_told_with_its_folder() -> None:
    taught = lesson_of_pieces()
    catalogue = load_catalogue("en")
    told = proposal_of_pieces_lines(taught, Backing(), catalogue)
    alone = {one.folder: proposal_lines(one.lesson, Backing(), catalogue) for one in taught.pieces}
    assert told == [f"{folder}: {line}" for folder, lines in alone.items() for line in lines]
    assert any("--at-bar" in line for line in told)
    asked = proposal_of_pieces_lines(taught, Backing(at_bars=(1,)), catalogue)
    assert all("--at-bar" not in line for line in asked)
