"""The lead of a record as a phrase: tones made here, since it is quick; recorded notes are heard in tests/outside."""

import json
from itertools import chain

import numpy as np
import pytest

from reedpath.cli import main
from reedpath.errors import ReadError
from reedpath.hear.lead import RecordHeard
from reedpath.hear.lead.candidates import Whereabouts
from reedpath.readers.audio import transcribe_lead
from reedpath.signal import Samples, encode, silence
from support.records import LEAD, RATE, record


@pytest.fixture(scope="module")
def heard():
    return transcribe_lead(record(), title="a record")


@pytest.mark.slow
def test_the_lead_is_written_down_with_the_bands_tempo_and_key(heard):
    written, found = heard
    pitches = [event.midi[0] for event in written.phrase.events]
    right = sum(midi in pitches for midi, _ in LEAD)
    assert right == len(LEAD)
    assert len(LEAD) - 3 <= len(pitches) <= len(LEAD) + 3
    assert written.phrase.tempos[0].bpm == pytest.approx(120, rel=0.03)
    assert written.phrase.title == "a record"
    assert written.key == found.key
    assert found.where.place > 0.2
    assert found.where.low < 69 < 79 < found.where.high


@pytest.mark.slow
def test_how_far_it_is_goes_up_to_nearly_all():
    shares = []
    transcribe_lead(record(), told=shares.append)
    assert shares == sorted(shares)
    assert len(set(shares)) >= 5
    assert shares[0] > 0
    assert 0.9 < shares[-1] <= 1


def test_what_is_doubtful_is_marked_in_the_phrase_and_said(heard):
    written, _ = heard
    marked = [event for event in written.phrase.events if event.doubtful]
    said = [one for one in written.phrase.left_out if one.kind == "doubtful-notes"]
    assert [event.place for event in marked] == [one.place for one in said]


@pytest.mark.slow
def test_a_tempo_that_is_given_goes_before_the_drums():
    from reedpath.hear import KnownRhythm

    written, _ = transcribe_lead(record().span(0.0, 4.0), known=KnownRhythm(bpm=60))
    assert written.phrase.tempos[0].bpm == 60


@pytest.mark.parametrize(
    "sound", [silence(2.0, rate=RATE, channels=2), silence(0.0, rate=RATE), record().span(0, 0.01)]
)
def test_nothing_to_hear_is_an_empty_phrase_that_says_so(sound):
    written, found = transcribe_lead(sound)
    assert written.phrase.events == ()
    assert "nothing-heard" in [one.kind for one in written.phrase.left_out]
    assert isinstance(found, RecordHeard)
    assert found.where == Whereabouts() or found.notes == ()


def test_what_lies_round_a_span_is_not_told_to_be_its_condition():
    loud = Samples(np.ones((2 * RATE, 1), dtype=np.float32), RATE)
    blocks = [silence(1.0, rate=RATE), silence(1.0, rate=RATE), loud]
    written, _ = transcribe_lead(iter(blocks), start_seconds=0.5, end_seconds=1.5)
    assert {one.kind for one in written.phrase.left_out} == {"recording-silent", "nothing-heard"}


@pytest.mark.slow
def test_what_is_no_span_and_what_is_too_long_is_told():
    with pytest.raises(ReadError, match="the recording ends before 9 s"):
        transcribe_lead(silence(1.0, rate=RATE), start_seconds=9.0)
    with pytest.raises(ReadError, match="a span from 2"):
        transcribe_lead(silence(1.0, rate=RATE), start_seconds=2.0, end_seconds=1.0)
    hour = chain.from_iterable([[silence(60.0, rate=1000)]] * 60)
    with pytest.raises(ReadError, match="a record of more than 20 minutes: the lead is followed through 20 at most"):
        transcribe_lead(hour)


def asked(*arguments):
    with pytest.raises(SystemExit) as left:
        main([str(one) for one in arguments])
    return left.value.code or 0


@pytest.mark.slow
def test_the_command_marks_doubt_and_says_what_next(tmp_path, capsys):
    file = tmp_path / "record.wav"
    file.write_bytes(encode(record().span(0.0, 5.0)))
    phrase = tmp_path / "solo.json"
    assert asked("transcribe", file, "--lead", "--out", phrase) == 0
    said = capsys.readouterr().out
    assert "The lead lies between" in said
    assert f"reedpath lesson {phrase} --out FOLDER" in " ".join(said.split())
    assert "drop record.wav on the workbench" in " ".join(said.split())
    assert ("marked with ?" in said) == ("cents  doubt" in said)
    assert asked("transcribe", file, "--lead", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert {"lowest_midi", "highest_midi", "place"} == set(data["lead"])
    assert all("doubtful" in note for note in data["notes"])
    assert asked("transcribe", file, "--lead", "--chords") == 2
    assert "give --lead, or --chords and --octaves, not both" in capsys.readouterr().err
