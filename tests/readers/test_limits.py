"""Limits, and the text that a source's bytes spell."""

import codecs

import pytest

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.readers.decoding import decode_text, looks_like_text, split_lines
from reedpath.readers.limits import DEFAULT_LIMITS, Limits

WORDS = "Käse — ½ tone\nsecond line"


def test_a_limit_names_what_is_too_large_and_what_is_allowed():
    with pytest.raises(ReadError, match="too large: 1,001 bars; at most 1,000 allowed") as raised:
        Limits(bars=1_000).check("bars", 1_001, what="bars", where="line 3")
    assert in_english(raised.value.where) == "line 3"
    Limits(bars=1_000).check("bars", 1_000, what="bars")


def test_the_default_limits_hold_an_engraved_movement():
    assert DEFAULT_LIMITS.source_bytes > 10_000_000
    assert DEFAULT_LIMITS.events > 5_000


@pytest.mark.parametrize(
    "data",
    [
        WORDS.encode(),
        codecs.BOM_UTF8 + WORDS.encode(),
        WORDS.encode("utf-16"),
        codecs.BOM_UTF16_BE + WORDS.encode("utf-16-be"),
        WORDS.encode("utf-32"),
    ],
    ids=["utf-8", "utf-8 with a mark", "utf-16", "utf-16 big end first", "utf-32"],
)
def test_text_comes_back_from_each_encoding(data):
    assert decode_text(data) == WORDS
    assert looks_like_text(data)


def test_utf_16_without_a_mark_is_told_by_its_zeros():
    text = "X:1\nT:plain letters\nK:C\n"
    assert decode_text(text.encode("utf-16-le")) == text
    assert decode_text(text.encode("utf-16-be")) == text


def test_bytes_that_are_no_utf_8_are_read_as_windows_or_latin_1():
    assert decode_text("Käse – gut".encode("cp1252")) == "Käse – gut"
    assert decode_text(b"\x81\xe4") == "\x81ä"


@pytest.mark.parametrize("data", [b"ab\x00cd", b"PK\x03\x04", b"\x7fELF\x01"])
def test_binary_is_no_text(data):
    with pytest.raises(ReadError, match="control character"):
        decode_text(data)
    assert not looks_like_text(data)


def test_a_broken_encoding_is_named_by_its_byte():
    with pytest.raises(ReadError, match="not utf-16 text") as raised:
        decode_text(codecs.BOM_UTF16_LE + b"a\x00\x00\xd8")
    assert in_english(raised.value.where) == "byte 4"


def test_lines_end_as_on_any_machine():
    assert split_lines("a\r\nb\rc\nd", limits=DEFAULT_LIMITS) == ["a", "b", "c", "d"]


def test_lines_are_limited_in_number_and_length():
    with pytest.raises(ReadError, match="at most 2 allowed"):
        split_lines("a\nb\nc", limits=Limits(lines=2))
    with pytest.raises(ReadError, match="at most 3 allowed") as raised:
        split_lines("a\nbcde", limits=Limits(line_characters=3))
    assert in_english(raised.value.where) == "line 2"
