"""What commands show: every column, line and field holds what its title says."""

from __future__ import annotations

import json
import os
import re
from fractions import Fraction

import numpy as np
import pytest

from reedpath.cli import main
from reedpath.cli.hearing import show_lined_up, show_transcription
from reedpath.hear import HeardNote, Transcription
from reedpath.jobs import HearingChoice, TranscribedRecording
from reedpath.listen import LinedUp, PieceLinedUp
from reedpath.phrase import KeyGuess, Tempo
from reedpath.pitch import parse_key
from support.phrases import phrase_of
from support.play_throughs import play_through
from support.routes import lesson_of, route_of

TUNE = """X:1
T:Two Small Steps (invented)
M:4/4
L:1/8
Q:1/4=96
K:G
G2 B2 _d2 g2 | f2 d2 B4 |]
"""


@pytest.fixture(autouse=True)
def _english_in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tune.abc").write_text(TUNE, encoding="utf-8")


def told(capsys, *words: object) -> list[str]:
    with pytest.raises(SystemExit) as ended:
        main([str(word) for word in words])
    out, err = capsys.readouterr()
    assert (ended.value.code, err) == (0, "")
    return out.splitlines()


def table(lines: list[str], first: str) -> list[dict[str, str]]:
    """Rows of the table whose head begins with a word, by title."""
    at = next(number for number, line in enumerate(lines) if line.split()[:1] == [first])
    rows = []
    for line in lines[at:]:
        if not line.strip():
            break
        rows.append(re.split(r" {2,}", line.strip()))
    return [dict(zip(rows[0], row, strict=False)) for row in rows[1:]]


def test_a_survey_says_of_each_harp_what_its_columns_promise(capsys):
    asked = ("survey", "tune.abc", "--tuning", "standard", "--tuning", "raised-3-blow", "--owned", "D, G", "--top", 3)
    lines = told(capsys, *asked)
    data = json.loads("\n".join(told(capsys, *asked, "--json")))
    assert lines[0] == "What plays Two Small Steps (invented) best"
    rows = table(lines, "rank")
    assert len(rows) == len(data["ranked"]) == 3
    for number, (row, one) in enumerate(zip(rows, data["ranked"], strict=True), start=1):
        assert row["rank"] == str(number)
        assert row["harp"] == one["harp"] + " harp"
        assert row["effort"] == f"{one['effort']['total']:.1f}"
        assert row["hardest spot"] == f"{one['worst']:.1f}"
        assert row["truth"] == f"{one['truth']:.2f}"
        assert row["key"] == "G major"
        shown = {0: "as written", 12: "an octave up", -12: "an octave down"}
        assert row["moved"] == shown[one["shift_semitones"]]
    on_d = next(row for row in rows if row["harp"] == "D harp")
    assert (on_d["tuning"], on_d["position"]) == ("standard major", "twelfth position")
    assert lines[-1].startswith("Effort is in points")


def test_reasons_stand_beside_the_moves_they_are_of(capsys):
    lines = told(capsys, "arrange", "tune.abc", "--harp", "C", "--shift", 0, "--why", "--trade-off")
    rows = table(lines, "event")
    assert [row["event"] for row in rows] == ["1", "2", "3", "4", "5", "6", "7"]
    assert [row["beat"] for row in rows] == ["0", "1", "2", "3", "4", "5", "6"]
    assert [row["asked"] for row in rows] == ["G4", "B4", "D♭5", "G5", "F♯5", "D5", "B4"]
    assert [row["move"] for row in rows][:4] == ["-2", "-3", "-4'", "+6"]
    for row in rows:
        terms = [float(term.split()[-1]) for term in row.get("why", "").split(", ") if term]
        assert terms == sorted(terms, reverse=True)
        assert sum(terms) == pytest.approx(float(row["effort"]), abs=0.01 * max(1, len(terms)))
    assert "  Bar 2: G5 stands in for F♯5." in lines
    others = lines[lines.index("Easier or truer") + 1 :]
    assert others[0].startswith("  C harp, second position, as written, ")
    assert others[1] == "    " + " ".join(row["move"] for row in rows)
    efforts = [float(line.split(", ")[3].split()[0]) for line in others[::2]]
    assert efforts == sorted(efforts, reverse=True)


def test_a_harps_chart_stands_in_its_holes(capsys):
    lines = told(capsys, "harp", "A", "--positions")
    assert lines[0] == "A harp (standard major)"
    rows = {re.split(r" {2,}", line)[0]: line for line in lines[2 : lines.index("", 2)]}
    holes = next(line for line in lines if line.split() == [str(number) for number in range(1, 11)])
    ends = [match.end() for match in re.finditer(r"\d+", holes)]

    def notes(title: str) -> list[str]:
        return [rows[title][max(0, end - 5) : end].strip() for end in ends]

    assert notes("blow") == ["A3", "C#4", "E4", "A4", "C#5", "E5", "A5", "C#6", "E6", "A6"]
    assert notes("draw") == ["B3", "E4", "G#4", "B4", "D5", "F#5", "G#5", "B5", "D6", "F#6"]
    assert notes("draw bend, step-and-a-half") == ["", "", "F4", "", "", "", "", "", "", ""]
    assert notes("blow bend, whole-step") == [""] * 9 + ["G6"]
    # a dip is no note to rest on
    assert notes("draw bend, half-step")[4] == "(D5)"
    assert list(rows).index("blow") < lines[2:].index(holes) < list(rows).index("draw")
    assert lines[-12].split("  ")[0] == "first position"
    assert lines[-12].endswith("every note of the scale without bends")
    second = "second position    E major   without bends it lacks D♯ (-2', +9', +5o)"
    assert lines[-11] == second


def heard_note(start: float, midi: int, cents: float) -> HeardNote:
    contour = midi + np.array([0.01234, 0.02])
    seconds = start + np.array([0.0, 0.01])
    return HeardNote(start, start + 0.45678, midi, cents, 0.98765, -12.0, start == 0.0, seconds, contour)


@pytest.fixture
def heard(monkeypatch) -> TranscribedRecording:
    """A recording of two notes as it was written down."""
    phrase = phrase_of("c4 1/4 e4+g4 1/8", key="C", title="take", tempos=(Tempo(Fraction(0), 120.0),))
    notes = (heard_note(0.0, 60, -3.456), heard_note(0.51234, 64, 7.0))
    written = Transcription(phrase, notes, None, 0, KeyGuess(parse_key("C"), 0.87654), 0.01239)
    made = TranscribedRecording(written, phrase, None)
    monkeypatch.setattr("reedpath.cli.hearing.write_down_recording", lambda *_, **__: made)
    return made


def shown(capsys, tmp_path, *, as_data: bool = False, language: str = "en", **more: object) -> str:
    asked: dict[str, object] = {"out": None, "replace": False, "notation": "sign"} | more
    show_transcription(tmp_path / "x.wav", HearingChoice(), language=language, json=as_data, **asked)
    return capsys.readouterr().out


def test_what_was_heard_as_a_table(capsys, tmp_path, heard):
    lines = shown(capsys, tmp_path).splitlines()
    assert lines[:2] == ["♩ = 120, C major", ""]
    rows = table(lines, "beat")
    assert [row["beat"] for row in rows] == ["0", "1"]
    assert [row["start, s"] for row in rows] == ["0.00", "0.50"]
    assert [row["length"] for row in rows] == ["1", "1/2"]
    assert [row["note"] for row in rows] == ["C4", "E4 G4"]
    kept = tmp_path / "kept.json"
    assert shown(capsys, tmp_path, out=kept).splitlines()[-2:] == ["", str(kept)]
    assert json.loads(kept.read_text(encoding="utf-8"))["phrase"]["title"] == "take"


def test_what_was_heard_as_data(capsys, tmp_path, heard):
    data = json.loads(shown(capsys, tmp_path, as_data=True))
    assert data["phrase"]["title"] == "take"
    assert (data["key_confidence"], data["stray_beats"], data["route"]) == (0.8765, 0.0124, None)
    assert data["notes"] == [
        {
            "start_seconds": start, "end_seconds": end, "midi": midi, "cents": cents, "confidence": 0.9877,
            "attacked": attacked, "contour_midi": [midi + 0.012, midi + 0.02],
        }
        for start, end, midi, cents, attacked in [(0.0, 0.4568, 60, -3.46, True), (0.5123, 0.9691, 64, 7.0, False)]
    ]  # fmt: skip


def test_a_take_lined_up_event_by_event(capsys, tmp_path, monkeypatch):
    lesson = lesson_of(route_of(phrase_of("c4 1/4 e4 | d4", key="C")))
    plays = (
        play_through([(0, 1.0, 1.5), (1, 1.5, 2.0), (2, 2.0, 2.5)], missed=[1]),
        play_through([(0, 4.0, 5.0)], factor=0.5),
    )
    monkeypatch.setattr("reedpath.cli.hearing.read_taught", lambda _: lesson)
    found = (PieceLinedUp(0, LinedUp(lesson.route, None, None, plays)),)
    monkeypatch.setattr("reedpath.cli.hearing.line_up_pieces", lambda *_, **__: found)
    show_lined_up(tmp_path / "x.wav", tmp_path, broken_off=False, language="en", json=False)
    lines = capsys.readouterr().out.splitlines()
    assert re.search(r"\b1\b.*100 ?%", lines[0])
    rows = table(lines, "event")
    assert [list(row.values())[:4] for row in rows] == [
        ["1", "+1", "1.000", "1.500"],
        ["2", "+2", "–", "–"],
        ["3", "-1", "2.000", "2.500"],
    ]
    second = lines.index("") + 1
    assert re.search(r"\b2\b.*50 ?%", lines[second])
    assert [row["move"] for row in table(lines[second:], "event")] == ["+1"]


def test_a_pipe_that_is_closed_early_is_no_fault(capsys, monkeypatch):
    reading, writing = os.pipe()
    os.close(reading)
    # the number of the pipe stays open for whoever flushes it at exit, and leads nowhere
    with os.fdopen(writing, "w", encoding="utf-8") as pipe:
        monkeypatch.setattr("sys.stdout", pipe)
        with pytest.raises(SystemExit) as ended:
            main(["harp", "A"])
        pipe.flush()
    assert ended.value.code == 0
    assert capsys.readouterr().err == ""


LICK = "title: Small lick (invented)\nharp: C\nkey: G\ntime: 4/4\n\n-4:e -3 -2:q -3:h |\n"


def test_chords_says_where_a_phrase_sits_and_keeps_its_version(capsys, tmp_path):
    (tmp_path / "lick.txt").write_text(LICK, encoding="utf-8")
    asked = ("chords", "lick.txt", "--form", "twelve-bar", "--out", "over.json")
    out = "\n".join(told(capsys, *asked))
    assert "Rests on the third of the I chord in bar 1; D on beat 1 is the fifth of the I chord." in out
    assert "bar 5" in out
    assert "Comes to rest on B in bar 5, which rubs against the seventh of the IV chord." in out
    assert "A version for the IV chord, in bar 5" in out
    data = json.loads("".join(told(capsys, "chords", "over.json", "--harp", "C", "--form", "twelve-bar", "--json")))
    places = {one["bar"]: one for one in data["forms"][0]["places"]}
    assert places[5]["rating"] == "good"
    assert data["for_the_four"]["state"] == "fits"
    assert data["title"] == "Small lick (invented) (IV)"


@pytest.mark.parametrize("language", ["en", "fr", "de", "es", "it"])
def test_chords_answers_in_every_language(capsys, tmp_path, language):
    (tmp_path / "lick.txt").write_text(LICK, encoding="utf-8")
    out = "\n".join(told(capsys, "chords", "lick.txt", "--language", language))
    assert "{" not in out
    assert out.count("IV") > 5


def test_chords_keeps_no_version_where_there_is_none(capsys, tmp_path):
    (tmp_path / "low.txt").write_text(LICK.replace("-4:e -3 -2:q -3:h", "-2:q -4 -2:h"), encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["chords", "low.txt", "--out", "over.json"])
    assert ended.value.code == 2
    assert "there is no version of this phrase for the IV chord" in capsys.readouterr().err
    assert not (tmp_path / "over.json").exists()


@pytest.mark.parametrize(("temperament", "second_line"), [("7-limit-second", "7-limit just"), ("equal", "")])
def test_a_harp_says_its_temperament_where_it_is_not_the_equal_one(temperament, second_line, capsys):
    with pytest.raises(SystemExit):
        main(["harp", "A", "--temperament", temperament])
    said = capsys.readouterr().out.splitlines()[1]
    assert said.startswith(second_line)
    assert bool(said) == bool(second_line)
