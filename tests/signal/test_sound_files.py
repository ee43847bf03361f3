import _thread
import io
import signal
import sys
import threading
from contextlib import suppress
from fractions import Fraction

import av
import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReedpathError, SoundError
from reedpath.signal import Samples, decode, encode, open_blocks, resampled, span_of
from support.examples import examples


def tone(seconds=1.0, rate=44100, hz=440.0, channels=1):
    times = np.arange(round(seconds * rate)) / rate
    return Samples(np.repeat(0.5 * np.sin(2 * np.pi * hz * times)[:, None], channels, axis=1), rate)


def click(rate=48000, at=10000):
    array = np.zeros((rate, 2), dtype=np.float32)
    array[at : at + 400] = 0.8 * np.sin(0.3 * np.arange(400))[:, None]
    return Samples(array, rate)


def film(samples, container, codec):
    av = pytest.importorskip("av")
    sink = io.BytesIO()
    with av.open(sink, "w", format=container) as out:
        stream = out.add_stream(codec, rate=samples.rate, layout="stereo")
        for start in range(0, samples.frames, 1024):
            block = np.ascontiguousarray(samples.array[start : start + 1024].T)
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout="stereo")
            frame.sample_rate, frame.pts = samples.rate, start
            frame.time_base = Fraction(1, samples.rate)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return sink.getvalue()


def lag(sound, at=10000):
    wanted = click().array[at - 100 : at + 500, 0]
    found = np.correlate(sound.array[at - 3000 : at + 4000, 0], wanted, "valid")
    return int(np.argmax(found)) + at - 3000 - (at - 100)


@pytest.mark.parametrize(("bits", "error"), [(16, 1 / 32000), (24, 1 / 8_000_000)])
@pytest.mark.parametrize("format", ["wav", "flac"])
def test_lossless_formats_come_back(format, bits, error):
    sound = tone(channels=2)
    back = decode(encode(sound, format=format, bits=bits))
    assert back.rate == sound.rate
    assert back.array.shape == sound.array.shape
    assert np.max(np.abs(back.array - sound.array)) <= error


@pytest.mark.parametrize("format", ["ogg", "opus", "mp3"])
def test_lossy_formats_keep_length_and_time(format):
    back = decode(encode(click(), format=format))
    assert back.duration_seconds == pytest.approx(1.0, abs=0.001)
    assert lag(back) == 0


@pytest.mark.parametrize(
    ("container", "codec"), [("mp4", "aac"), ("mov", "aac"), ("matroska", "aac"), ("webm", "libopus")]
)
def test_the_sound_of_films_keeps_time(container, codec):
    back = decode(film(click(), container, codec))
    assert (back.rate, back.channels) == (48000, 2)
    assert lag(back) == 0


def test_an_independent_reader_agrees_on_our_wav():
    array, rate = soundfile.read(io.BytesIO(encode(tone(rate=22050))), dtype="float32")
    assert rate == 22050
    assert np.max(np.abs(array - tone(rate=22050).array[:, 0])) < 1e-6


def test_tags_are_written():
    data = encode(tone(0.1), format="flac", tags={"title": "Slow", "comment": "draw"})
    with soundfile.SoundFile(io.BytesIO(data)) as file:
        assert (file.title, file.comment) == ("Slow", "draw")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"format": "tape"}, "sound cannot be written as 'tape'"),
        ({"bits": 12}, "16 or 24 bits, not 12"),
        ({"tags": {"mood": "blue"}}, "there is no tag named 'mood'"),
    ],
)
def test_what_cannot_be_written_is_named(options, message):
    with pytest.raises(SoundError, match=message):
        encode(tone(0.1), **options)


def test_too_many_channels_for_mp3_is_an_error():
    with pytest.raises(SoundError, match="6 channels at 44,100 Hz as mp3"):
        encode(tone(0.1, channels=6), format="mp3")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "empty"),
        (b"# practice diary\nMonday: bends\n" * 9, "text, whatever its name says"),
        ("Übung macht den Meister\n".encode("utf-16"), "text"),
        (b"MThd\x00\x00\x00\x06" + bytes(30), "MIDI file"),
        (b"PK\x03\x04" + bytes(30), "zip archive"),
        (b"\x89PNG\r\n" + bytes(30), "PNG picture"),
        (bytes(1000), "no kind of sound file"),
        (b"fLaC" + bytes(100), "damaged flac"),
        (b"\x00\x00\x00\x20ftypmp42" + bytes(50), "damaged or truncated mp4"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", "breaks off"),
    ],
)
def test_what_is_no_sound_is_named(data, message):
    with pytest.raises(SoundError, match=message) as caught:
        decode(data, name="lick.wav")
    assert str(caught.value).startswith("lick.wav: ")


@pytest.mark.parametrize("format", ["wav", "flac", "ogg", "opus", "mp3"])
def test_a_file_cut_in_half_is_an_error_or_its_half(format):
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (4 * 44100, 2))
    data = encode(Samples(noise, 44100), format=format)
    half = data[: len(data) // 2]
    with pytest.raises(SoundError, match="breaks off"):
        decode(half, name="take." + format)
    part = decode(half, allow_truncated=True)
    assert 0 < part.duration_seconds < 4.0


def test_a_film_cut_in_half_is_an_error():
    data = film(click(), "matroska", "aac")
    with pytest.raises(SoundError, match=r"breaks off after .* that its header promises"):
        decode(data[: len(data) // 2])


def test_a_wav_whose_recorder_never_wrote_the_length_is_read():
    data = bytearray(encode(tone(), bits=16))
    place = data.index(b"data")
    data[place + 4 : place + 8] = b"\xff\xff\xff\xff"
    assert decode(bytes(data)).duration_seconds == pytest.approx(1.0, abs=0.01)


def test_an_absent_file_is_named(tmp_path):
    with pytest.raises(SoundError, match=r"gone.wav: cannot be opened: No such file"):
        decode(tmp_path / "gone.wav")


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(SoundError, match="cannot be opened"):
        decode(tmp_path)


def test_a_film_without_its_library_says_what_to_install(monkeypatch):
    data = film(click(), "mp4", "aac")
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(SoundError, match="av library, which is not installed") as caught:
        decode(data)
    assert "pip install av" in caught.value.hint


def test_blocks_put_together_are_the_whole(tmp_path):
    path = tmp_path / "take.flac"
    sound = tone(3.3, channels=2)
    path.write_bytes(encode(sound, format="flac"))
    with open_blocks(path, block_seconds=0.5) as blocks:
        assert (blocks.kind, blocks.rate, blocks.channels) == ("flac", 44100, 2)
        assert blocks.promised_seconds == pytest.approx(3.3)
        parts = [block.array for block in blocks]
    assert len(parts) == 7
    assert np.array_equal(np.concatenate(parts), decode(path).array)


def test_a_sound_over_the_limit_is_refused_before_it_is_all_read():
    with pytest.raises(SoundError, match=r"long.wav: longer than 0 minutes"):
        decode(encode(tone(3.0)), name="long.wav", limit_seconds=1.5)


def test_no_frames_is_a_sound_of_no_length():
    assert decode(encode(Samples(np.zeros((0, 1)), 44100))).frames == 0


def test_odd_rates_and_channels_are_read():
    for rate, channels in [(8000, 1), (192_000, 2), (48_000, 6)]:
        back = decode(encode(tone(0.2, rate=rate, channels=channels)))
        assert (back.rate, back.channels) == (rate, channels)
        assert decode(encode(back), mono=True).channels == 1


@examples(40)
@given(st.data())
def test_broken_bytes_never_escape_the_family(data):
    whole = bytearray(encode(tone(0.2), format=data.draw(st.sampled_from(["wav", "flac", "ogg"]))))
    for _ in range(data.draw(st.integers(1, 5))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    with suppress(ReedpathError):
        decode(bytes(whole), allow_truncated=data.draw(st.booleans()))


def test_resampling_keeps_pitch_and_length():
    sound = resampled(tone(1.0, rate=44100, hz=1000.0), 16000)
    assert sound.frames == 16000
    spectrum = np.abs(np.fft.rfft(sound.array[:, 0] * np.hanning(16000)))
    assert int(np.argmax(spectrum)) == 1000


def test_block_resampling_equals_the_whole():
    from reedpath.signal import BlockResampler

    sound = tone(2.0, rate=48000, hz=700.0)
    stream = BlockResampler(48000, 22050)
    parts = [stream.feed(sound.array[start : start + 3000, 0]) for start in range(0, sound.frames, 3000)]
    joined = np.concatenate([*parts, stream.finish()])
    whole = resampled(sound, 22050).array[:, 0]
    assert abs(len(joined) - len(whole)) <= 1
    n = min(len(joined), len(whole))
    assert np.max(np.abs(joined[:n] - whole[:n])) < 1e-3


LONG_TITLE = "Été à Nîmes, un long titre qui passe trente signes"


@pytest.mark.parametrize("form", ["wav", "flac", "ogg", "opus", "mp3"])
def test_titles_come_out_as_they_went_in(form):
    """Read by FFmpeg's libraries, which are not those that write."""
    data = encode(tone(0.5), format=form, tags={"title": LONG_TITLE, "comment": "C’est ça"})
    with av.open(io.BytesIO(data)) as container:
        tags = {name.lower(): value for name, value in (container.metadata | container.streams[0].metadata).items()}
    assert (tags["title"], tags["comment"]) == (LONG_TITLE, "C’est ça")


@pytest.mark.parametrize("form", ["mp3", "flac"])
def test_a_request_to_end_is_not_lost_in_the_library(form):
    """Whenever it comes, it is heard, or what was written is whole."""
    sound = tone(3.0)
    whole = encode(sound, format=form)
    heard = 0
    # where the tests themselves run in the background, such requests are not heard by default
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    for number in range(12):
        request = threading.Timer(number * 0.004, _thread.interrupt_main)
        try:
            request.start()
            data = encode(sound, format=form)
            request.join()
            assert data == whole
        except KeyboardInterrupt:
            heard += 1
        request.join()
    signal.signal(signal.SIGINT, before)
    assert heard


def test_a_span_of_blocks_is_that_of_the_whole():
    data = encode(tone(2.0), bits=16)
    with open_blocks(data, block_seconds=0.3) as blocks:
        parts = [part.array for part in span_of(blocks, 0.45, 1.2)]
    assert np.array_equal(np.concatenate(parts), decode(data).array[round(0.45 * 44100) : round(1.2 * 44100)])


def test_channels_are_mixed_to_one_while_reading():
    data = encode(Samples(np.repeat([[0.5, 0.25]], 1000, axis=0), 44100), bits=16)
    mixed = decode(data, mono=True)
    assert (mixed.channels, mixed.array.dtype) == (1, np.float32)
    assert mixed.array == pytest.approx(0.375, abs=1e-4)
    assert decode(encode(Samples(np.zeros((0, 2)), 44100)), mono=True).channels == 1
