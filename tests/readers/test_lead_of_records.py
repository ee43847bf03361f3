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
from reedpath.signal import Samples, encode_wav, silence

RATE = 16_000
# MIDI numbers and beats of the lead, at 120 quarter notes a minute
LEAD = [(69, 1), (72, 1), (74, 1), (76, 1), (79, 2), (76, 1), (74, 1), (72, 2), (69, 2)] * 2
BEAT = 0.5


def tone(midi, seconds, *, harmonics=8):
    times = np.arange(int(seconds * RATE)) / RATE
    hz = 440 * 2 ** ((midi - 69) / 12)
    wave = sum(np.sin(2 * np.pi * hz * n * times) / n for n in range(1, harmonics + 1))
    return wave * np.exp(-2 * times) * np.minimum(1, (seconds - times) / 0.03)


def laid(notes, seconds):
    out = np.zeros(int(seconds * RATE) + RATE)
    for start, sound in notes:
        at = int(start * RATE)
        out[at : at + len(sound)] += sound[: len(out) - at]
    return out[: int(seconds * RATE)]


def record(*, level=1.0):
    """A lead to the right over drums, a bass and chords to the left; A minor."""
    starts = list(np.cumsum([0, *(beats for _, beats in LEAD)]) * BEAT + 0.1)
    seconds = starts.pop() + 0.4
    lead = laid([(s, tone(m, b * BEAT * 0.9)) for s, (m, b) in zip(starts, LEAD, strict=True)], seconds)
    rng = np.random.default_rng(1)
    fading = np.exp(-np.arange(RATE // 10) / (0.02 * RATE))
    thump = np.sin(2 * np.pi * 55 * np.arange(RATE // 10) / RATE) * fading
    hiss = rng.normal(size=RATE // 10) * fading
    beats = np.arange(int((seconds - 0.3) / BEAT))
    drums = laid([(0.1 + n * BEAT, thump if n % 2 == 0 else hiss) for n in beats], seconds)
    bass = laid([(0.1 + n * BEAT, tone((33, 33, 40, 38)[n // 4 % 4], 0.45, harmonics=3)) for n in beats], seconds)
    chords = [(57, 60, 64), (57, 60, 64), (56, 59, 64), (57, 62, 65)]
    comping = laid([(0.1 + (n + 0.5) * BEAT, tone(m, 0.2)) for n in beats[:-1] for m in chords[n // 4 % 4]], seconds)
    left = 0.3 * lead + 0.5 * drums + 0.4 * bass + 0.25 * comping
    right = 0.6 * lead + 0.5 * drums + 0.4 * bass + 0.05 * comping
    both = np.stack([left, right], axis=1)
    return Samples((level * both / np.abs(both).max()).astype(np.float32), RATE)


@pytest.fixture(scope="module")
def heard():
    return transcribe_lead(record(), title="a record")


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


def test_what_is_doubtful_is_marked_in_the_phrase_and_said(heard):
    written, _ = heard
    marked = [event for event in written.phrase.events if event.doubtful]
    said = [one for one in written.phrase.left_out if one.kind == "doubtful-notes"]
    assert [event.place for event in marked] == [one.place for one in said]


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


def test_the_command_marks_doubt_and_says_what_next(tmp_path, capsys):
    file = tmp_path / "record.wav"
    file.write_bytes(encode_wav(record().span(0.0, 5.0)))
    phrase = tmp_path / "solo.json"
    assert asked("transcribe", file, "--lead", "--out", phrase) == 0
    said = capsys.readouterr().out
    assert "The lead lies between" in said
    assert f"reedpath lesson {phrase} --out FOLDER" in " ".join(said.split())
    assert asked("transcribe", file, "--lead", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert {"lowest_midi", "highest_midi", "place"} == set(data["lead"])
    assert all("doubtful" in note for note in data["notes"])
    assert asked("transcribe", file, "--lead", "--chords") == 2
    assert "give --lead or --chords, not both" in capsys.readouterr().err
