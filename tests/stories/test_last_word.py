"""The teacher's last word, through the command line: pins, other ways, what cannot be."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedpath.arrange import load_weights

pytestmark = pytest.mark.story

TAB = "title: Small steps (invented)\nharp: A\nA: | -2 -3' 4 -4' | -4 5 6 -5 |\nB: | 6 5 -4 4 | -2 -2 -1 2 |\n"


@pytest.fixture
def tab(tmp_path) -> Path:
    path = tmp_path / "small-steps.txt"
    path.write_text(TAB, encoding="utf-8")
    return path


def arranged(run, *arguments: object) -> dict:
    status, out, err = run("arrange", *arguments, "--json")
    assert (status, err) == (0, "")
    return json.loads(out)


def holes(data: dict) -> list[list[int]]:
    return [one["choice"]["move"]["holes"] for one in data["events"]]


def cost(data: dict) -> float:
    lost = sum(min(1.0, sum(change["loss"] for change in one["choice"]["changes"])) for one in data["events"])
    return data["effort"]["total"] + load_weights().fit.price_points * lost


def test_pinning_another_way_costs_what_it_was_said_to_add(run, tab):
    free = arranged(run, tab, "--harp", "A", "--others")
    number, other = next((i, one["others"][0]) for i, one in enumerate(free["events"], start=1) if one["others"])
    assert {"move", "adds", "changes"} <= other.keys()
    assert other["move"]["midi"]
    sign = ("-" if other["move"]["breath"] == "draw" else "+") + str(other["move"]["holes"][0])
    pinned = arranged(run, tab, "--harp", "A", "--pin", f"{number}={sign}")
    assert holes(pinned)[number - 1] == other["move"]["holes"]
    assert cost(pinned) - cost(free) == pytest.approx(other["adds"], abs=0.002)


def test_others_are_shown_beside_their_event_in_english_and_french(run, tab):
    for language, words in (("en", "other moves"), ("fr", "autres gestes")):
        status, out, _ = run("arrange", tab, "--harp", "A", "--others", "--language", language)
        assert status == 0
        assert words in out


def test_a_pin_does_not_choose_another_harp(run, tab):
    free = arranged(run, tab)
    pinned = arranged(run, tab, "--pin", "1=3")
    assert pinned["harp"] == free["harp"]
    assert holes(pinned)[0] == [3]


def test_octaves_in_a_part(run, tab):
    data = arranged(run, tab, "--harp", "A", "--technique", "B=octaves", "--trade-off")
    assert all(len(found) == 1 for found in holes(data)[:8])
    assert all(len(found) == 2 for found in holes(data)[8:])
    kinds = {change["kind"] for one in data["events"][8:] for change in one["choice"]["changes"]}
    assert kinds == {"added"}
    assert all(all(len(found) == 2 for found in holes(one)[8:]) for one in data["trade_off"])


def test_a_lesson_keeps_the_pins(run, tab, tmp_path):
    status, _, err = run(
        "lesson", tab, "--out", tmp_path / "lesson", "--harp", "A", "--pin", "1:1=3", "--technique", "B=octaves"
    )
    assert (status, err) == (0, "")
    lesson = json.loads((tmp_path / "lesson" / "lesson.json").read_bytes())
    assert lesson["route"]["events"][0]["choice"]["move"]["holes"] == [3]
    texts = {language: json.dumps(lesson["steps"][language], ensure_ascii=False) for language in ("en", "fr")}
    assert "with its octave" in texts["en"]
    assert "avec son octave" in texts["fr"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--pin", "99=3"], "there is no event 99: this phrase has 16"),
        (["--pin", "1=-9''"], "no draw bent 2 semitones here"),
        (["--pin", "1=3", "--pin", "1=-1"], "event 1 cannot be +3, -1 at once"),
        (["--avoid", "2=-3'", "--level", "easy"], "without -3' nothing that this level plays is left for event 2"),
        (["--pin", "three"], "names no event"),
        (["--technique", "Z=octaves"], "there is no part called 'Z'"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(run, tab, words, said):
    status, out, err = run("arrange", tab, "--harp", "A", "--language", "en", *words)
    assert (status, out) == (2, "")
    assert said in err
    assert len(err.strip().splitlines()) <= 2
    status, _, err = run("arrange", tab, "--harp", "A", "--language", "fr", *words)
    assert status == 2
    assert said not in err


RIVER = "title: Slow river (invented)\nharp: Low F\n| -2 -3' 4 3 | (-1 -2) -4 1/4 2 |\n"


@pytest.fixture
def river(tmp_path) -> Path:
    path = tmp_path / "river.txt"
    path.write_text(RIVER, encoding="utf-8")
    return path


def test_a_typed_tab_is_kept_with_its_harp_and_its_moves(run, river):
    data = arranged(run, river)
    assert data["harp"]["key"] == "Low F"
    assert holes(data) == [[2], [3], [4], [3], [1, 2], [4], [1, 4], [2]]
    assert (data["shift_semitones"], data["truth"]) == (0, 1.0)
    assert data["events"][1]["effort"]["terms"]["move"] > 0
    assert holes(arranged(run, river, "--harp", "F low", "--level", "first-months")) == holes(data)


def test_a_typed_tab_is_searched_anew_when_that_or_another_harp_is_asked_for(run, river):
    anew = arranged(run, river, "--rearrange", "--harp", "Low F")
    assert anew["harp"]["key"] == "Low F"
    assert cost(anew) < cost(arranged(run, river))
    assert arranged(run, river, "--rearrange")["harp"]["key"] != "Low F"
    assert arranged(run, river, "--harp", "C")["harp"]["key"] == "C"
    assert arranged(run, river, "--shift", 12, "--harp", "Low F")["shift_semitones"] == 12


def test_what_is_said_counts_more_than_what_is_typed(run, river):
    assert holes(arranged(run, river, "--pin", "4=-2")) == [[2], [3], [4], [2], [1, 2], [4], [1, 4], [2]]
    assert holes(arranged(run, river, "--avoid", "4=3"))[3] == [2]
    assert holes(arranged(run, river, "--avoid", "4=-2"))[3] == [3]
    others = arranged(run, river, "--others")["events"][3]["others"]
    assert [other["move"]["holes"] for other in others] == [[2]]


def test_a_survey_shows_the_tab_as_typed_on_a_line_of_its_own(run, river):
    status, out, _ = run("survey", river, "--json", "--top", 2)
    data = json.loads(out)
    assert status == 0
    assert (data["typed"]["harp"], data["typed"]["shift_semitones"]) == ("Low F", 0)
    assert data["typed"]["effort"]["total"] == pytest.approx(arranged(run, river)["effort"]["total"], abs=0.001)
    assert len(data["ranked"]) == 2
    for language, words in (("en", "as typed"), ("fr", "tel qu’écrit")):
        assert words in run("survey", river, "--top", 2, "--language", language)[1]


def test_a_lesson_of_a_typed_tab_is_that_tab(run, river, tmp_path):
    status, _, err = run("lesson", river, "--out", tmp_path / "river")
    assert (status, err) == (0, "")
    tab = (tmp_path / "river" / "tab.txt").read_text(encoding="utf-8")
    assert "Low F" in tab
    assert "| -2  ·   -3' ·   +4  ·   +3  ·   | -(1 2) ·   -4  ·   +1/4 ·   +2  ·   |" in tab


def test_a_typed_move_that_its_harp_does_not_have_is_told_with_line_and_column(run, tmp_path):
    path = tmp_path / "wrong.txt"
    path.write_text("harp: Low F\n| -2 -9'' 4 |\n", encoding="utf-8")
    status, out, err = run("arrange", path, "--language", "en")
    assert (status, out) == (2, "")
    assert "line 2, column 6, hole 9" in err
    assert path.read_text(encoding="utf-8") == "harp: Low F\n| -2 -9'' 4 |\n"
