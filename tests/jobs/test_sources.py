"""From a source to a phrase that can be arranged: what is asked of it, its key and its tempo."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from reedpath.errors import PhraseError, ReadError
from reedpath.jobs import SourceChoice, demo_source, read_source, read_source_file
from reedpath.phrase import Phrase, Tempo, encode_phrase
from reedpath.pitch import parse_key
from support.phrases import phrase_of

TWO = b"""X:1
T:First (invented)
L:1/4
Q:1/4=80
K:G
GABc|d4|

X:2
T:Second (invented)
L:1/4
K:C
[CE]DEF|GABc|]
"""


def kept(phrase: Phrase) -> bytes:
    return encode_phrase(phrase)


def test_what_the_source_says_stands():
    read = read_source(TWO, name="two.abc")
    assert read.phrase.title == "First (invented)"
    assert read.phrase.key == parse_key("G")
    assert read.phrase.tempos == (Tempo(Fraction(0), 80.0),)
    assert read.key_guess is None
    assert read.phrase.end == 8


def test_what_is_asked_for_goes_before_it():
    choice = SourceChoice("abc", {"tune": 2}, (2, 2), key=parse_key("Am"), bpm=100.0)
    read = read_source(TWO, name="two.abc", choice=choice)
    assert read.phrase.title == "Second (invented)"
    assert [event.midi for event in read.phrase.events] == [(67,), (69,), (71,), (72,)]
    assert (read.phrase.key, read.key_guess) == (parse_key("Am"), None)
    assert read.phrase.tempos == (Tempo(Fraction(0), 100.0),)
    # a format that is named is not told from the content
    with pytest.raises(ReadError):
        read_source(TWO, name="two.abc", choice=SourceChoice("midi"))


def test_a_key_that_nothing_says_is_found_from_the_notes():
    read = read_source(kept(phrase_of("g4 1/4 a4 b4 c5 d5 e5 f#5 g5 d5 b4 g4 1/1")), name="a.json")
    assert read.key_guess is not None
    assert read.phrase.key == read.key_guess.key == parse_key("G")


def test_all_tempos_of_a_source_are_moved_alike():
    phrase = phrase_of("c4 1/4 d4 e4", key="C", tempos=(Tempo(Fraction(0), 60.0), Tempo(Fraction(2), 90.0)))
    moved = read_source(kept(phrase), name="a.json", choice=SourceChoice(bpm=120.0)).phrase
    assert [tempo.bpm for tempo in moved.tempos] == [120.0, 180.0]
    for bpm in (10.0, 500.0):
        moved = read_source(kept(phrase), name="a.json", choice=SourceChoice(bpm=bpm)).phrase
        assert moved.tempos[0].bpm == pytest.approx(bpm)
    for bpm in (9.9, 500.1):
        with pytest.raises(
            PhraseError, match=r"a\.json: a tempo of [\d.]+ quarter notes a minute; 10 to 500 are possible"
        ):
            read_source(kept(phrase), name="a.json", choice=SourceChoice(bpm=bpm))


def test_double_stops_stay_unless_the_lead_is_asked_for():
    phrase = phrase_of("c4+e4 1/4 d4", key="C")
    assert read_source(kept(phrase), name="a.json").phrase.events[0].midi == (60, 64)
    lead = read_source(kept(phrase), name="a.json", choice=SourceChoice(lead=True)).phrase
    assert [event.midi for event in lead.events] == [(64,), (62,)]


def test_a_source_without_notes_is_told_with_its_name():
    with pytest.raises(ReadError, match=r"rests\.json: there are no notes to play"):
        read_source(kept(phrase_of("r 1/4")), name="rests.json")
    with pytest.raises(PhraseError, match=r"two\.abc: no bars 7 to 8"):
        read_source(TWO, name="two.abc", choice=SourceChoice(bars=(7, 8)))


def test_a_file_is_read_like_its_bytes(tmp_path: Path):
    path = tmp_path / "two.abc"
    path.write_bytes(TWO)
    choice = SourceChoice(options={"tune": 2})
    assert read_source_file(path, choice) == read_source(TWO, name="two.abc", choice=choice)
    with pytest.raises(ReadError) as told:
        read_source_file(tmp_path / "none.abc")
    assert str(told.value) == f"{tmp_path / 'none.abc'}: there is no such file"


def test_the_demo_is_a_phrase_with_a_key():
    assert demo_source().phrase.key is not None
    assert len(demo_source().phrase.events) > 8
