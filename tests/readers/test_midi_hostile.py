"""MIDI: whatever comes in, a phrase or a ReadError comes out, soon."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import Phrase, performed
from reedpath.readers import read_phrase
from support.written_sources import midi_file, struck, wheel

# seconds that any source below may take on a slow machine; measured at most 5
PATIENCE = 60.0

SEED = midi_file(
    [(0, 0xFF, 0x51, b"\x07\xa1\x20"), (0, 0xFF, 0x58, bytes((4, 2, 24, 8))), (0, 0xFF, 0x06, b"A")],
    [(0, 0xB0, 101, 0), (0, 0xB0, 100, 0), (0, 0xB0, 6, 12), wheel(0, 0), wheel(1, 90), wheel(0, 200),
     *struck(60, 0, 240), *struck(64, 0, 240), *struck(67, 240, 480)],
    struck(36, 0, 480, channel=9),
)  # fmt: skip


def phrase_or_refusal(data: bytes, **options) -> ReadError | None:
    try:
        phrase = read_phrase(data, format="midi", options=options)
    except ReadError as error:
        return error
    assert isinstance(phrase, Phrase)
    performed(phrase)
    return None


def test_every_truncation_is_refused_by_its_byte():
    for cut in range(1, len(SEED)):
        error = phrase_or_refusal(SEED[:cut])
        assert error is not None
        assert in_english(error.where).startswith("byte ")


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(st.integers(0, len(SEED) - 1), st.integers(0, 255)), min_size=1, max_size=6))
def test_changed_bytes_give_a_phrase_or_a_refusal(changes):
    data = bytearray(SEED)
    for at, byte in changes:
        data[at] = byte
    phrase_or_refusal(bytes(data))


@settings(max_examples=200, deadline=None)
@given(st.integers(14, len(SEED)), st.binary(max_size=12), st.integers(0, 30))
def test_inserted_and_dropped_bytes_give_a_phrase_or_a_refusal(at, inserted, dropped):
    phrase_or_refusal(SEED[:at] + inserted + SEED[at + dropped :])


message = st.one_of(
    st.tuples(st.integers(0, 2000), st.integers(0x80, 0xBF), st.integers(0, 127), st.integers(0, 127)),
    st.tuples(st.integers(0, 2000), st.integers(0xE0, 0xEF), st.integers(0, 127), st.integers(0, 127)),
    st.tuples(st.integers(0, 2000), st.integers(0xC0, 0xDF), st.integers(0, 127)),
    st.tuples(st.integers(0, 2000), st.just(0xFF), st.integers(0, 127), st.binary(max_size=5)),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(message, max_size=20), min_size=1, max_size=3), st.integers(1, 0x7FFF))
def test_any_messages_give_a_phrase_or_a_refusal(tracks, division):
    phrase_or_refusal(midi_file(*tracks, division=division))


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=100))
def test_random_bytes_after_a_header_give_a_phrase_or_a_refusal(data):
    phrase_or_refusal(SEED[:14] + b"MTrk" + len(data).to_bytes(4, "big") + data)


def track(body: bytes) -> bytes:
    return b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk" + len(body).to_bytes(4, "big") + body


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (track(b"\0\x90\x3c\x40" + b"\0\x3c\x40" * 1_500_000), "1,000,001 messages, of 1,000,000"),
        (track(b"\0\x90\x3c\x40\x01\x3c\0" * 30_000), "30,000 notes, of 20,000"),
        (track(b"\xff\xff\xff\x7f\x90\x3c\x40" * 3), "a track of over 268,435,455 ticks"),
        (b"MThd\0\0\0\6\0\1\xff\xff\1\xe0" + b"XXXX\0\0\0\0" * 100_000, "0 tracks, where the header says 65535"),
    ],
    ids=["messages", "notes", "ticks", "chunks"],
)
def test_sources_over_the_limits_are_refused(data, message):
    began = time.monotonic()
    error = phrase_or_refusal(data)
    assert message in str(error)
    assert time.monotonic() - began < PATIENCE


def test_a_wheel_that_never_rests_takes_no_longer():
    curve = b"".join(b"\1\xe0" + bytes((number * 37 % 128, number * 91 % 128)) for number in range(200_000))
    held = b"".join(b"\0\x90" + bytes((number % 128, 64)) for number in range(3_000))
    began = time.monotonic()
    phrase_or_refusal(track(held + curve))
    assert time.monotonic() - began < PATIENCE
