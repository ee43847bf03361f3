"""What a new user types wrong is answered with what to do, and what can be understood is done."""

from __future__ import annotations

import json

import pytest

from reedpath.cli import lessons as cli_lessons
from reedpath.cli import main

FRET_TAB = """e|-----------------|
B|-----------------|
G|-----------------|
D|-2---4---5---7---|
A|-----------------|
E|-----------------|
"""


@pytest.fixture(autouse=True)
def _english_in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    monkeypatch.chdir(tmp_path)


def told(capsys, *words: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    out, err = capsys.readouterr()
    return ended.value.code, out + err


@pytest.mark.parametrize("heading", ["key: sol blabla", "tempo: fast", "metre: lively", "swing: a lot"])
@pytest.mark.parametrize("tab", ["harp: C\n\n4 -4 5 -5 6\n", FRET_TAB], ids=["harmonica", "guitar"])
def test_a_wrong_heading_is_what_is_told_of_a_tab(capsys, tmp_path, heading, tab):
    (tmp_path / "solo.txt").write_text(f"title: Mine\n{heading}\n{tab}")
    status, text = told(capsys, "arrange", "solo.txt")
    value = heading.partition(": ")[2]
    assert status == 2
    assert f"solo.txt, line 2: '{value}' is not a " in text
    assert "format" not in text


def test_help_lists_the_formats(capsys):
    from reedpath.readers import reader_names

    status, text = told(capsys, "arrange", "--help")
    assert status == 0
    for name in reader_names():
        assert name in "".join(text.split())  # a narrow terminal breaks them at their hyphens


def test_harps_and_keys_of_a_tab_in_french(capsys, tmp_path):
    (tmp_path / "solo.txt").write_text("harmonica: La\ntonalité: mi majeur\n\n2 -2 -3'' 4 -4\n", encoding="utf-8")
    (tmp_path / "same.txt").write_text("harp: A\nkey: E\n\n2 -2 -3'' 4 -4\n")
    assert told(capsys, "arrange", "solo.txt", "--json")[1] == told(capsys, "arrange", "same.txt", "--json")[1]


def test_options_in_the_words_of_either_language(capsys, tmp_path):
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    english = told(capsys, "arrange", "solo.txt", "--harp", "A", "--key", "Am", "--json")
    assert english[0] == 0
    assert told(capsys, "arrange", "solo.txt", "--harp", "La", "--key", "la mineur", "--json") == english
    owned = told(capsys, "survey", "solo.txt", "--owned", "A,C", "--json")
    assert owned[0] == 0
    for said in ("A C", "la, do", "La et Do"):
        assert told(capsys, "survey", "solo.txt", "--owned", said, "--json") == owned


@pytest.mark.parametrize(
    ("words", "says", "hint"),
    [
        (["arrange", "solo.txt", "--owned", ""], "--owned names no harp", '--owned "A, C, Low F"'),
        (["arrange", "solo.txt", "--owned", "A, mine"], "there is no harp named 'mine'", "write a key"),
        (["arrange", ""], "the name given for FILE is empty", "name a file"),
        (["lesson", "solo.txt", "--out", ""], "the name given for --out is empty", "name a file"),
        (["play-along", ""], "the name given for FOLDER is empty", "name a file"),
        (["play-along", "solo.txt"], "solo.txt: a lesson folder is wanted", "lesson solo.txt --out lessons/solo"),
        (["film", "solo.txt", "--out", "x.mp4"], "a lesson folder is wanted", "reedpath lesson solo.txt"),
        (["listen", "x.wav", "--lesson", "solo.txt"], "a lesson folder is wanted", "reedpath lesson solo.txt"),
        (["harp", ""], "there is no harp named ''", "write a key"),
        (["arrange", "solo.txt", "--harp", ""], "there is no harp named ''", "write a key"),
        (["arrange", "solo.txt", "--key", ""], "there is no key named ''", "write E, Bb, Am"),
        (["arrange", "solo.txt", "--bars", "3-2"], "--bars ends before it begins: 3-2", "--bars 2-3"),
        (["arrange", "words.txt"], "guitar fret tab (fret-tab), harmonica tab (harmonica-tab)", "--format fret-tab"),
        (["arrange", "words.bin"], "in none of the formats that can be read", "goes after --format"),
        (["play-along", "."], "there is no lesson in this folder", "reedpath lesson SOURCE --out FOLDER"),
        (["arrange", "signs.txt"], "line 3, column 6: brackets hold several holes", "notation: bracket"),
    ],
)  # fmt: skip
def test_an_answer_says_what_to_do(capsys, tmp_path, words, says, hint):
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    for name in ("words.txt", "words.bin"):
        (tmp_path / name).write_text("a few words and no music\n")
    (tmp_path / "signs.txt").write_text("harp: C\n\n4 -4 (4) 5 -5\n")
    status, text = told(capsys, *words)
    assert status == 2
    assert says in text
    assert hint in text


ENDINGS = "X:1\nT:Endings (invented)\nM:4/4\nL:1/4\nK:C\n|: CDEF|GABc|1 dcBA|GFED:|2 EDC2|^F4|]\n"


def test_a_bar_is_told_by_its_number_in_the_source_and_which_time(capsys, tmp_path):
    (tmp_path / "tune.abc").write_text(ENDINGS)
    status, text = told(capsys, "arrange", "tune.abc", "--harp", "C", "--shift", "0", "--level", "first-months")
    assert status == 0
    assert "  Bar 1: G4 stands in for F4" in text
    assert "  Bar 1, 2nd time: G4 stands in for F4" in text
    assert "  Bar 6: " in text
    assert "\n1 (2) | " in text
    assert "1 (2)  bar 1, 2nd time" in text


def test_bars_asked_for_are_those_of_the_source(capsys, tmp_path):
    import json

    (tmp_path / "tune.abc").write_text(ENDINGS)
    status, text = told(capsys, "arrange", "tune.abc", "--bars", "5-6", "--shift", "0", "--json")
    assert status == 0
    assert [event["event"]["midi"] for event in json.loads(text)["events"]] == [[64], [62], [60], [66]]
    status, text = told(capsys, "arrange", "tune.abc", "--bars", "7-8")
    assert status == 2
    assert "no bars 7 to 8: the phrase has bars 1 to 6" in text


EMPTY = [
    *[
        ["arrange", "solo.txt", option, ""]
        for option in ("--format", "--notation", "--level", "--tuning", "--language")
    ],
    *[
        ["lesson", "solo.txt", "--out", "x", option, " "]
        for option in ("--languages", "--paper", "--title", "--temperament")
    ],
    *[
        ["play-along", ".", option, ""]
        for option in ("--tempos", "--form", "--groove", "--turns", "--chords", "--without")
    ],
    *[["film", ".", "--out", "x.mp4", option, ""] for option in ("--strip", "--screen", "--palette", "--language")],
    *[["slow", "x.wav", "--out", "y.wav", option, ""] for option in ("--to", "--from", "--until")],
]


@pytest.mark.parametrize("words", EMPTY, ids=lambda words: " ".join(words))
@pytest.mark.parametrize(("system", "says"), [("en_GB", "there is nothing after"), ("fr_FR", "il n’y a rien après")])
def test_an_empty_value_is_not_taken_for_nothing_asked(capsys, tmp_path, monkeypatch, words, system, says):
    monkeypatch.setenv("LC_ALL", f"{system}.UTF-8")
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    status, text = told(capsys, *words)
    assert status == 2
    assert f"{says} {words[-2]}" in text
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["arrange", "solo.txt", "--choose", ""], "--choose '' chooses nothing"),
        (["arrange", "solo.txt", "--choose", "part="], "--choose 'part=' chooses nothing"),
        (["arrange", "solo.txt", "--bars", ""], "--bars '' is not a range of bars"),
        (["lesson", "solo.txt", "--out", "x", "--languages", ","], "--languages ',' names nothing"),
        (["play-along", ".", "--tempos", ","], "--tempos ',' names nothing"),
    ],
)
def test_values_that_name_nothing(capsys, tmp_path, words, says):
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    status, text = told(capsys, *words)
    assert (status, says in text) == (2, True), text


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["harp", "B"], True),
        (["harp", "Low b"], True),
        (["harp", "H"], False),
        (["harp", "Bb"], False),
        (["harp", "B flat"], False),
        (["arrange", "solo.txt", "--key", "Bm"], False),
        (["arrange", "solo.txt", "--key", "B minor"], True),
        (["arrange", "solo.txt", "--key", "b-Moll"], False),
        (["survey", "solo.txt", "--owned", "A, B, C"], True),
        (["survey", "solo.txt", "--owned", "A, Bb, Es"], False),
    ],
    ids=str,
)
def test_which_b_was_taken_is_said(capsys, tmp_path, words, says):
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    with pytest.raises(SystemExit) as ended:
        main([*words, "--json"])
    assert ended.value.code == 0
    assert ("B is read as B natural; B flat is written Bb." in capsys.readouterr().err) is says


@pytest.mark.parametrize(
    ("language", "typed", "harp"), [("de", "B", "Bb"), ("de", "H", "B"), ("en", "B", "B"), ("fr", "B", "B")]
)
def test_a_b_is_b_flat_only_to_those_who_speak_german(capsys, language, typed, harp):
    with pytest.raises(SystemExit):
        main(["harp", typed, "--json", "--language", language])
    answered = capsys.readouterr()
    assert json.loads(answered.out)["key"] == harp
    assert ("B wird deutsch gelesen" in answered.err) is (language == "de" and typed == "B")


@pytest.mark.parametrize(
    ("system", "languages"), [("de_AT.UTF-8", ["de", "en"]), ("fr_FR", ["en", "fr"]), ("C", ["en", "fr"])]
)
def test_a_lesson_is_in_the_systems_language_too(monkeypatch, system, languages):
    monkeypatch.setenv("LC_ALL", system)
    assert list(cli_lessons._languages(None)) == languages


ASKED_IN_VAIN = [
    (["harp", "A", "--notation", "foo"], "there is no notation named 'foo'", "aucune notation ne s’appelle"),
    (["arrange", "solo.txt", "--harp", "A", "--owned", "C"], "give --harp or --owned", "donner --harp ou --owned"),
    (["film", "les", "--out", "f.mp4", "--strip", "vp9"], "name the film with --over or --beside",
     "nommer ce film avec --over ou --beside"),
    (["transcribe", "take.wav", "--out", "x.txt"], "call it x.json", "l’appeler x.json"),
    (["arange", "solo.txt"], "there is arrange", "il y a arrange"),
    (["arrange", "--harp"], "reedpath arrange --help says which", "reedpath arrange --help dit laquelle"),
    (["arrange", "solo.txt", "--bars", "9-12"], "the phrase has only bar 1", "la phrase n’a que la mesure 1"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "english", "french"), ASKED_IN_VAIN, ids=lambda value: str(value)[:40])
def test_what_would_be_done_otherwise_in_silence_is_told(capsys, tmp_path, monkeypatch, words, english, french):
    (tmp_path / "solo.txt").write_text("tempo: 90\n" + FRET_TAB)
    assert english in told(capsys, *words)[1]
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    status, text = told(capsys, *words)
    assert (status, french in text) == (2, True), text


def test_the_system_speaks_the_language_of_the_user(capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    status, text = told(capsys, "arrange", "n" * 300 + ".txt")
    assert (status, "le nom est trop long" in text) == (2, True), text
