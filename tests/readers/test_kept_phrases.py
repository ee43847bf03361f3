"""The program's own file of a phrase: what is written comes back, and what does not hold is named."""

from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.phrase import phrase_as_data
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from reedpath.readers.kept import SCHEMA, VERSION
from support.built_phrases import line_of


def kept(phrase, /, **changed) -> bytes:
    return json.dumps({"schema": SCHEMA, "version": VERSION, "phrase": phrase_as_data(phrase)} | changed).encode()


def test_a_phrase_comes_back_whole():
    phrase = line_of("E4 G4+B4 - A4", key=Key(4), vibrato=True, graces=(62, 64), slide_from=60)
    assert read_phrase(kept(phrase)) == phrase


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (kept(line_of("E4"), version=2), "not version 1"),
        (kept(line_of("E4"), phrase={}), "events: this is missing"),
        (kept(line_of("E4")).replace(b'"midi": [64]', b'"midi": [640]'), r"events\[0\].midi"),
        (kept(line_of("E4"))[:-9], "not the data of a phrase"),
        (b'{"schema": "reedpath/phrase", "a": ' + b"[" * 100_000, "not the data of a phrase"),
    ],
)
def test_what_does_not_hold_is_named(data, says):
    with pytest.raises(ReadError, match=says):
        read_phrase(data, format="kept")


@settings(max_examples=60, deadline=None)
@given(cut=st.integers(0, 600), by=st.binary(max_size=3))
def test_hurt_files_raise_read_errors_only(cut, by):
    data = kept(line_of("E4 G4"))
    hurt = data[:cut] + by + data[cut + len(by) :]
    with contextlib.suppress(ReadError):
        read_phrase(hurt, format="kept")
