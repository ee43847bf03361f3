from fractions import Fraction

import numpy as np
import pytest

from reedpath.errors import ReadError
from reedpath.hear import KnownRhythm
from reedpath.readers.audio import transcribe
from reedpath.signal import Samples, concatenated, encode, open_blocks, silence
from support.reed_tones import RATE, reed_tone, tune

SCALE = [60, 62, 64, 65, 67]


def words(phrase):
    return [one.what for one in phrase.left_out]


def test_a_recording_is_a_phrase():
    phrase = transcribe(tune(SCALE), known=KnownRhythm(bpm=60 / 0.45), title="five notes").phrase
    assert [event.midi[0] for event in phrase.events] == SCALE
    assert [event.onset for event in phrase.events] == [Fraction(n) for n in range(5)]
    assert phrase.title == "five notes"
    assert words(phrase) == []


def test_a_file_in_blocks_is_the_same_phrase():
    sound = tune(SCALE)
    with open_blocks(encode(sound), block_seconds=0.3) as blocks:
        assert transcribe(blocks).phrase.events == transcribe(sound).phrase.events


def test_a_span_is_heard_alone():
    written = transcribe(tune(SCALE), start_seconds=0.7, end_seconds=1.55)
    assert [note.midi for note in written.notes] == [62, 64]
    assert written.notes[0].start_seconds == pytest.approx(0.0, abs=0.03)


def test_what_comes_after_a_span_is_not_read():
    def endless():
        while True:
            yield reed_tone(69, 1.0)

    assert len(transcribe(endless(), end_seconds=2.5).notes) >= 1


def test_two_octaves_and_a_prior():
    prior = [(59.5, 0.0), (72.5, 0.0)]
    assert [event.midi[0] for event in transcribe(tune(SCALE), prior=prior).phrase.events] == SCALE


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"start_seconds": -1}, "the start is at least 0"),
        ({"start_seconds": 2, "end_seconds": 1}, "the end after it"),
        ({"start_seconds": 100}, "ends before 100 s"),
        ({"known": KnownRhythm(bpm=1000)}, "1,000 quarter notes a minute: 20 to 400"),
    ],
)
def test_what_cannot_be_is_an_error(options, message):
    with pytest.raises(ReadError, match=message):
        transcribe(tune(SCALE), **options)


@pytest.mark.parametrize("frames", [0, 1, 3 * RATE])
def test_silence_is_an_empty_phrase_that_says_so(frames):
    phrase = transcribe(Samples(np.zeros(frames), RATE)).phrase
    assert phrase.events == ()
    assert words(phrase) == ["the recording is silent", "nothing with a pitch was heard"]


def test_noise_says_what_it_is():
    noise = np.random.default_rng(5).normal(size=2 * RATE) * 0.1
    assert "the recording is mostly drums, noise or many voices" in words(transcribe(Samples(noise, RATE)).phrase)[0]


def test_a_clipped_recording_is_read_and_says_so():
    loud = Samples(np.clip(tune(SCALE).array * 20, -1, 1), RATE)
    phrase = transcribe(loud).phrase
    assert [event.midi[0] for event in phrase.events] == SCALE
    assert "too loud" in words(phrase)[0]


def test_a_telephone_rate_says_so():
    low = concatenated([silence(0.2, rate=8000), reed_tone(69, rate=8000)])
    phrase = transcribe(low).phrase
    assert [event.midi for event in phrase.events] == [(69,)]
    assert words(phrase) == ["the recording holds nothing over 4000 Hz"]


@pytest.mark.parametrize(("rate", "channels"), [(192_000, 2), (48_000, 6), (11_025, 1)])
def test_odd_rates_and_channels_are_heard(rate, channels):
    sound = concatenated([silence(0.2, rate=rate), reed_tone(69, rate=rate)]).with_channels(channels)
    with open_blocks(encode(sound)) as blocks:
        assert [event.midi for event in transcribe(blocks).phrase.events] == [(69,)]
