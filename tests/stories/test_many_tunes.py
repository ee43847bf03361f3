"""A folder of tunes surveyed from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from support.tune_folders import step_tunes


@pytest.fixture(scope="module")
def tunes(tmp_path_factory) -> Path:
    return step_tunes(tmp_path_factory.mktemp("survey") / "tunes")


def test_a_folder_is_surveyed_and_its_table_written(run, tunes, tmp_path):
    status, out, err = run("survey", tunes, "--top", 3, "--out", tmp_path / "table", "--language", "en")
    assert (status, err) == (0, "")
    assert out.startswith("13 tunes and what plays each of them best\n")
    assert "Steps in" in out
    assert "survey.html" in out
    status, out, _ = run("survey", tunes, "--top", 3, "--language", "en")
    assert "10 more tunes: --top 13 shows all" in out


def test_as_data_the_same_is_told(run, tunes):
    status, out, _ = run("survey", tunes, "--owned", "C, G", "--level", "easy", "--json")
    data = json.loads(out)
    assert status == 0
    assert len(data["tunes"]) == 13
    assert {way["harp"] for tune in data["tunes"] for way in tune["ways"]} <= {"C", "G"}
    assert sum(one["tunes"] for one in data["harps"]) == 13
    assert data["unread"] == []


def test_what_cannot_be_read_is_told_and_the_rest_goes_on(run, tunes, tmp_path):
    empty = tmp_path / "empty.mid"
    empty.write_bytes(b"")
    status, out, err = run("survey", tunes / "C.abc", empty, "--language", "en")
    assert status == 2
    assert err == f"reedpath: {empty}: the source is empty\n"
    assert "Steps in C" in out


def test_what_is_of_one_phrase_alone_is_told(run, tunes):
    status, _, err = run("survey", tunes, "--tune-for", 1, "--language", "en")
    assert status == 2
    assert "--tune-for is said of one phrase" in err
    status, _, err = run("survey", tunes, "--top", 0, "--language", "en")
    assert status == 2


def test_one_file_is_a_table_of_one_where_a_table_is_asked_for(run, tunes, tmp_path):
    status, out, _ = run("survey", tunes / "C.abc", "--out", tmp_path / "one", "--language", "en")
    assert status == 0
    assert out.startswith("1 tune and what plays it best")
    assert (tmp_path / "one" / "survey.csv").exists()


def test_a_cluster_that_does_not_answer_is_told(run, tunes):
    status, out, err = run("survey", tunes, "--cluster", "nowhere", "--language", "en")
    assert (status, out) == (2, "")
    assert "'nowhere' is no address of a cluster" in err
