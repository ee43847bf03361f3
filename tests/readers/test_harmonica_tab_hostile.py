"""Harmonica tab: whatever comes in, a phrase or a ReadError comes out, soon."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.phrase import Phrase, performed
from reedpath.readers import Limits, find_reader, read_phrase
from reedpath.readers.harmonica_tab import sniff_harmonica_tab
from support.examples import examples
from support.spent_bytes import many_from_bytes
from support.work import grows_evenly

pytestmark = pytest.mark.slow


def outcome(data: bytes) -> Phrase | None:
    """The phrase, or None for a refusal; anything else gets out and fails the test."""
    try:
        return read_phrase(data, format="harmonica-tab")
    except ReadError:
        return None


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"4 -4\n" * 1_000_000, "too large: 1,000,001 lines"),
        (b"4 " * 20_000, "line 1: too large: 39,999 columns|line 1: too large: 40,000 characters"),
        (b"\0" * 1_000, "not a text"),
        (b"4 -4 " + b"9" * 10_000, r"line 1, column 6: .*9999.* is too long"),
        (b"4 -4 5 " + b"(" * 10_000, r"line 1, column 8: .*\(\(\("),
        (b"harp: " + b"C" * 10_000 + b"\n4 -4 5 -5", "there is no harp named|there is no tuning named"),
    ],
)
def test_too_much_is_refused(data, message):
    with pytest.raises(ReadError, match=message):
        read_phrase(data, format="harmonica-tab")


def test_more_notes_than_the_limits_allow_are_refused():
    with pytest.raises(ReadError, match=r"too large: .* notes"):
        read_phrase(b"4 -4 5 -5 6 -6 7\n" * 5_000, format="harmonica-tab", limits=Limits(events=2_000))


@pytest.mark.parametrize(
    "source",
    [
        lambda size: b"4 -4 5 -5 6\n" * size,
        lambda size: b"4:q -4:e 5 -5 | " * size,
        lambda size: b"q e e h\n4 -4 5 -5\n" * size,
        lambda size: b"[a]\n" * size + b"4 -4 5 -5",
        lambda size: b"there are 2 words here and 3 more\n" * size,
        lambda size: b" ".join(b"1x%dy" % number for number in range(size)),
    ],
)
def test_odd_but_legal_sources_take_as_much_work_as_they_are_long(source):
    assert grows_evenly(lambda size: (outcome(source(size)), sniff_harmonica_tab(source(size))), 25)


@pytest.mark.parametrize("data", [b"4~" * 5_000, b"4:" * 5_000, b"# " * 9_000, b"a: " * 1_000 + b"4"])
def test_the_longest_lines_are_read_or_refused(data):
    outcome(data)
    sniff_harmonica_tab(data)


PIECES = [
    *("4", "-4", "-4'", "4B", "4D", "↓4", "(4)", "(4 5)", "1/4", "10", "-3'''", "6o", "|", "|:", ":|", "x2"),
    *("r", "=", ":q", ":e.", "~", ">", "\n", "\n", " ", "  ", "q e e\n", "[a]\n", "word", "harp: A\n", "tr", "'"),
]


def check(data: bytes) -> None:
    assert 0.0 <= sniff_harmonica_tab(data) <= 1.0
    phrase = outcome(data)
    if phrase is not None:
        performed(phrase)
        assert all(event.place for event in phrase.events)


@examples(12)
@given(many_from_bytes(lambda drawn: drawn.pick(["", " "]).join(drawn.picks(PIECES, most=30)), size=32))
def test_any_pieces(texts):
    for text in texts:
        check(text.encode())


@examples(80)
@given(st.text(max_size=120))
def test_any_text(text):
    check(text.encode("utf-8", errors="ignore"))


@examples(60)
@given(st.binary(max_size=200))
def test_any_bytes(data):
    check(data)


@pytest.mark.parametrize(
    "data",
    [
        b"X:1\nT:A tune\nM:4/4\nL:1/8\nK:D\nDEFG A2 Bc|d4 A4|\n",
        b"Chapter 1\n\nIt was the year 1902 and there were 3 of them.\n",
        "\n".join(f"{name}|--5--7--|" for name in "eBGDAE").encode(),
        b"name,age\nann,30\nbob,41\n",
    ],
)
def test_other_texts_are_not_claimed(data):
    assert sniff_harmonica_tab(data) < 0.3


def test_tab_is_claimed_over_the_other_formats():
    assert find_reader(b"harp: A\n\n-2 -3' 4 -4\n").name == "harmonica-tab"
    assert find_reader(b"title: x\nharp: A\n\n4B 4D 5B 5D | 6B\n").name == "harmonica-tab"
