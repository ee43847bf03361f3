"""The program's own file of a phrase: what is written comes back, and what does not hold is named."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import as_plain
from reedpath.errors import Place, ReadError
from reedpath.phrase import LeftOut, encode_phrase
from reedpath.phrase.version_1 import place_of_text
from reedpath.pitch import Key
from reedpath.readers import read_phrase
from support.built_phrases import line_of
from support.examples import examples

OF_VERSION_1 = Path(__file__).parents[1] / "data" / "version_1" / "phrase.json"


def kept(phrase, /, **changed) -> bytes:
    return json.dumps(json.loads(encode_phrase(phrase)) | changed).encode()


def test_a_phrase_comes_back_whole():
    phrase = line_of("E4 G4+B4 - A4", key=Key(4), vibrato=True, graces=(62, 64), slide_from=60)
    assert read_phrase(kept(phrase)) == phrase
    assert read_phrase(b"\xef\xbb\xbf" + encode_phrase(phrase)) == phrase


def test_a_file_of_version_1_is_read_whole():
    old = json.loads(OF_VERSION_1.read_bytes())["phrase"]
    phrase = read_phrase(OF_VERSION_1.read_bytes())
    new = as_plain(phrase)
    for name in ("title", "key", "swing", "pickup_beats", "metres", "tempos", "parts", "repeats"):
        assert new[name] == old[name], name
    plain = {"bend_in_semitones": "0", "release_semitones": "0", "slide_from_midi": None, "slide_to_midi": None}
    plain |= {"vibrato": False, "accent": False, "graces_midi": []}
    for now, before in zip(new["events"], old["events"], strict=True):
        defaults = {"cents": [], "grace": False}
        now["ornaments"] = plain | now.get("ornaments", {})
        assert defaults | now == before | {"place": as_plain(place_of_text(before["place"]))}
    assert phrase.left_out[0] == LeftOut("chord-symbols", Place(line=8, column=1))
    assert [(one.kind, one.what, one.count) for one in phrase.left_out] == [
        (one["kind"], one["what"], one["count"]) for one in old["left_out"]
    ]
    assert read_phrase(encode_phrase(phrase)) == phrase


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (kept(line_of("E4"), version=3), "version 3, written by a newer reedpath"),
        (kept(line_of("E4"), version="2"), "'version': \"2\" is not a whole number"),
        (kept(line_of("E4"), phrase={}), "'phrase.events': this is missing"),
        (kept(line_of("E4")).replace(b'"midi": [64]', b'"midi": [640]'), r"events\[0\].midi"),
        (kept(line_of("E4"))[:-9], "not JSON"),
        (b'{"schema": "reedpath/phrase", "a": ' + b"[" * 100_000, "nested too deeply|not JSON"),
    ],
)
def test_what_does_not_hold_is_named(data, says):
    with pytest.raises(ReadError, match=says):
        read_phrase(data, format="phrase-json")


@examples(60)
@given(cut=st.integers(0, 600), by=st.binary(max_size=3))
def test_hurt_files_raise_read_errors_only(cut, by):
    data = kept(line_of("E4 G4"))
    hurt = data[:cut] + by + data[cut + len(by) :]
    with contextlib.suppress(ReadError):
        read_phrase(hurt, format="phrase-json")
