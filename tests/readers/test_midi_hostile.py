"""MIDI: whatever comes in, a phrase or a ReadError comes out, after work in proportion to it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import Phrase, performed
from reedpath.readers import Limits, read_phrase
from support.examples import examples
from support.spent_bytes import SpentBytes, many_from_bytes
from support.work import calls_of
from support.written_sources import midi_file, struck, wheel

pytestmark = pytest.mark.slow

# calls that a source over its limits may take: for each of its bytes, and at all
CALLS_PER_BYTE, CALLS_AT_ALL = 10, 10_000

SEED = midi_file(
    [(0, 0xFF, 0x51, b"\x07\xa1\x20"), (0, 0xFF, 0x58, bytes((4, 2, 24, 8))), (0, 0xFF, 0x06, b"A")],
    [(0, 0xB0, 101, 0), (0, 0xB0, 100, 0), (0, 0xB0, 6, 12), wheel(0, 0), wheel(1, 90), wheel(0, 200),
     *struck(60, 0, 240), *struck(64, 0, 240), *struck(67, 240, 480)],
    struck(36, 0, 480, channel=9),
)  # fmt: skip


def phrase_or_refusal(data: bytes, **settings) -> ReadError | None:
    try:
        phrase = read_phrase(data, format="midi", **settings)
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


def changed_bytes(drawn: SpentBytes) -> bytes:
    data = bytearray(SEED)
    for _ in range(drawn.whole(1, 6)):
        data[drawn.whole(0, len(SEED) - 1)] = drawn.whole(0, 255)
    return bytes(data)


@examples(40)
@given(many_from_bytes(changed_bytes, size=13))
def test_changed_bytes_give_a_phrase_or_a_refusal(sources):
    for data in sources:
        phrase_or_refusal(data)


def inserted_and_dropped(drawn: SpentBytes) -> bytes:
    return drawn.spliced(SEED, drawn.raw(12), dropped=30, start=14)


@examples(20)
@given(many_from_bytes(inserted_and_dropped, size=16))
def test_inserted_and_dropped_bytes_give_a_phrase_or_a_refusal(sources):
    for data in sources:
        phrase_or_refusal(data)


def any_message(drawn: SpentBytes) -> tuple[int | bytes, ...]:
    ticks, kind = drawn.whole(0, 2000), drawn.whole(0, 3)
    if kind == 0:
        return ticks, drawn.whole(0x80, 0xBF), drawn.whole(0, 127), drawn.whole(0, 127)
    if kind == 1:
        return ticks, drawn.whole(0xE0, 0xEF), drawn.whole(0, 127), drawn.whole(0, 127)
    if kind == 2:
        return ticks, drawn.whole(0xC0, 0xDF), drawn.whole(0, 127)
    return ticks, 0xFF, drawn.whole(0, 127), drawn.raw(5)


def any_messages(drawn: SpentBytes) -> bytes:
    division, tracks = drawn.whole(1, 0x7FFF), drawn.whole(1, 3)
    lengths = [drawn.whole(0, 20) for _ in range(tracks)]
    return midi_file(*([any_message(drawn) for _ in range(length)] for length in lengths), division=division)


@examples(40)
@given(many_from_bytes(any_messages, size=250, count=5))
def test_any_messages_give_a_phrase_or_a_refusal(sources):
    for data in sources:
        phrase_or_refusal(data)


@examples(100)
@given(st.binary(max_size=100))
def test_random_bytes_after_a_header_give_a_phrase_or_a_refusal(data):
    phrase_or_refusal(SEED[:14] + b"MTrk" + len(data).to_bytes(4, "big") + data)


def track(body: bytes) -> bytes:
    return b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk" + len(body).to_bytes(4, "big") + body


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (track(b"\0\x90\x3c\x40" + b"\0\x3c\x40" * 18_000), "12,001 messages; at most 12,000"),
        (track(b"\0\x90\x3c\x40\x01\x3c\0" * 750), "750 notes; at most 500"),
        (track(b"\xff\xff\xff\x7f\x90\x3c\x40" * 3), "a track of over 268,435,455 ticks"),
        (b"MThd\0\0\0\6\0\1\xff\xff\1\xe0" + b"XXXX\0\0\0\0" * 10_000, "0 tracks, where the header says 65,535"),
    ],
    ids=["messages", "notes", "ticks", "chunks"],
)
def test_sources_over_the_limits_are_refused(data, message):
    errors = []
    limits = Limits(events=500, elements=12_000)
    calls = calls_of(lambda: errors.append(phrase_or_refusal(data, limits=limits)))
    assert message in str(errors[0])
    assert calls <= CALLS_AT_ALL + CALLS_PER_BYTE * len(data)


def wheel_that_never_rests(changes: int) -> bytes:
    """Many notes held under a wheel that goes on changing."""
    curve = b"".join(b"\1\xe0" + bytes((number * 37 % 128, number * 91 % 128)) for number in range(changes))
    held = b"".join(b"\0\x90" + bytes((number % 128, 64)) for number in range(300))
    return track(held + curve)


def test_a_wheel_that_never_rests_takes_work_in_proportion():
    sources, refused = [wheel_that_never_rests(changes) for changes in (500, 2_000)], []
    short, long = (calls_of(lambda: refused.append(phrase_or_refusal(sources.pop(0)))) for _ in range(2))
    assert refused == [None, None]
    assert long <= 4 * short
